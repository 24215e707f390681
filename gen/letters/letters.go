// Package letters knows which characters the Go fonts can write, in which
// charts as PNG and cards as PDF are set: Latin, Greek and Cyrillic letters,
// no emoji, and no letters of scripts that are written from right to left.
//
// It refuses to know what is written, and where.
package letters

import (
	"fmt"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// goFont is the regular one; the bold one has the same characters.
var goFont = sync.OnceValue(func() *sfnt.Font {
	f, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		panic(fmt.Sprintf("the font that comes with the library: %v", err))
	}
	return f
})

// box stands for a character that cannot be written.
const box = '□'

// Written gives a text as it can be written: a box stands for each character
// that cannot, and marks that go with one are left out.
func Written(text string) string {
	var b sfnt.Buffer
	return strings.Map(func(r rune) rune {
		switch {
		case can(&b, r):
			return r
		case unicode.In(r, unicode.Cf, unicode.M):
			return -1
		}
		return box
	}, text)
}

// Missing lists the characters of texts that cannot be written, each once.
func Missing(texts ...string) string {
	var b sfnt.Buffer
	var out strings.Builder
	for _, text := range texts {
		for _, r := range text {
			if !can(&b, r) && !unicode.Is(unicode.Cf, r) && !strings.ContainsRune(out.String(), r) {
				out.WriteRune(r)
			}
		}
	}
	return out.String()
}

func can(b *sfnt.Buffer, r rune) bool {
	i, err := goFont().GlyphIndex(b, r)
	return err == nil && i != 0
}
