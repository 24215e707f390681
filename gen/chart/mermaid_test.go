package chart

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/designs/odd"
)

var (
	mermaidBox   = regexp.MustCompile(`^  b\d+(\[\[|\(|\{\{|\[)"[^"]*"(\]\]|\)|\}\}|\])$`)
	mermaidArrow = regexp.MustCompile(`^  b\d+ (-->|-\.->|==>)(\|"[^"]+"\|)? b\d+$`) // Mermaid takes no empty label
)

// A title has no way to write what is HTML to Mermaid.
func TestMermaidTitle(t *testing.T) {
	assert.Equal(t, `"‹b› ＆ \"x\" \\"`, mermaidTitle(`<b> & "x" \`))
}

// Each line is a box or an arrow, and nothing that a label holds ends it
// early. Mermaid's own parser (11.17, by hand) takes these charts.
func TestMermaid(t *testing.T) {
	all := odd.Whole(t)
	all["crowd"] = crowd(60, 3)
	for name, d := range all {
		d.States[0].Label = "\"] --> b1; end %% {{`x`}} #1 <b> & ö"
		c, err := New(d, View{})
		require.NoError(t, err)
		lines := strings.Split(strings.TrimSuffix(string(c.Mermaid()), "\n"), "\n")
		require.Equal(t, []string{"---", "title: " + mermaidTitle(d.Prop.Called()), "---", "flowchart LR"}, lines[:4])
		boxes, arrows, starts := 0, 0, 0
		for _, l := range lines[4:] {
			switch {
			case strings.HasPrefix(l, "  %% "):
			case mermaidBox.MatchString(l):
				boxes++
			case mermaidArrow.MatchString(l):
				arrows++
			case strings.HasPrefix(l, `  start(("power-up")) --> b`):
				starts++
			default:
				assert.Fail(t, "neither a box nor an arrow", "%s: %s", name, l)
			}
		}
		assert.Equal(t, []int{len(c.Boxes), len(c.Arrows), 1}, []int{boxes, arrows, starts}, name)
	}
}
