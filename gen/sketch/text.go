package sketch

import (
	"fmt"
	"strings"

	"propwright/model"
)

// comment makes any text fit into a C comment: on one line, without anything that
// ends or nests a comment, without trigraphs and without invisible characters
// (compilers warn of those that change the direction of writing).
func comment(text string) string {
	text = model.Visible(text)
	for _, pair := range []string{"*/", "/*", "??", "//"} {
		for strings.Contains(text, pair) {
			text = strings.ReplaceAll(text, pair, pair[:1]+" "+pair[1:])
		}
	}
	return strings.TrimRight(text, `\`)
}

// remark joins texts that are not empty into one comment.
func remark(parts ...string) string {
	var said []string
	for _, p := range parts {
		if p = comment(p); p != "" {
			said = append(said, p)
		}
	}
	return strings.Join(said, ": ")
}

// upper writes a name as a C constant does. Names are slugs, so no two names
// become the same constant.
func upper(name string) string { return strings.ToUpper(strings.ReplaceAll(name, "-", "_")) }

func (b *builder) fault(pos model.Pos, advice, format string, args ...any) {
	b.faults = append(b.faults, model.Fault{Pos: pos, Wrong: fmt.Sprintf(format, args...), Advice: advice})
}
