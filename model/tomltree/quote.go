package tomltree

import (
	"fmt"
	"strings"
)

// Quote writes a text as a TOML basic string (TOML v1.0.0, 2021, "String").
// Bytes that are not UTF-8 become U+FFFD, since TOML cannot hold them.
func Quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range strings.ToValidUTF8(s, "\ufffd") {
		switch r {
		case '"', '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case '\b':
			b.WriteString(`\b`)
		case '\t':
			b.WriteString(`\t`)
		case '\n':
			b.WriteString(`\n`)
		case '\f':
			b.WriteString(`\f`)
		case '\r':
			b.WriteString(`\r`)
		default:
			if r < 0x20 || r == 0x7f {
				fmt.Fprintf(&b, `\u%04X`, r)
			} else {
				b.WriteRune(r)
			}
		}
	}
	b.WriteByte('"')
	return b.String()
}

// QuoteKey writes a key, bare where TOML allows it.
func QuoteKey(s string) string {
	for _, r := range s {
		if r != '-' && r != '_' && (r < '0' || r > '9') && (r < 'A' || r > 'Z') && (r < 'a' || r > 'z') {
			return Quote(s)
		}
	}
	if s == "" {
		return `""`
	}
	return s
}
