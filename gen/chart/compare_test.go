package chart

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/compare"
	"propwright/model/designs"
	"propwright/model/random"
)

var markWords = [...]string{Same: "", Added: "new", Removed: "gone"}

func TestCompareMarksWhatDiffers(t *testing.T) {
	before := string(designs.HarbourHeron)
	after := before
	for _, s := range [][2]string{
		{"on = \"press five\"\nto = \"squalling\"", "on = \"press five\"\nto = \"preening\""},
		{"name = \"striking\"\nkind", "name = \"diving\"\nkind"}, // and so renamed
		{"to = \"striking\"", "to = \"diving\""},
		{"\"after 90s\"", "\"after 2m\""},
		{"on = \"press four\"\nto", "on = [\"press four\"]\nto"}, // no difference
		{"from = \"any ambient\"\non = \"press one\"", "from = [\"watch\", \"wade\"]\non = \"press one\""},
		{"[[state]]\nname = \"squalling\"\nkind = \"performing\"\nplays = \"squall\"", "[[state]]\nname = \"dozing\"\nkind = \"ambient\""},
	} {
		require.Contains(t, after, s[0])
		after = strings.ReplaceAll(after, s[0], s[1])
	}
	read := func(text string) *model.Design {
		d, err := model.Read("heron.prop.toml", []byte(text))
		require.NoError(t, err)
		return d
	}
	x := compare.Compare(read(before), read(after))
	c := Compare(x)
	var marked []string
	for _, b := range c.Boxes {
		if b.Mark != Same {
			marked = append(marked, markWords[b.Mark]+" "+b.ID)
		}
		for _, l := range b.Lines {
			if l.Mark != Same {
				marked = append(marked, b.ID+": "+markWords[l.Mark]+" "+l.Text)
			}
		}
	}
	for _, a := range c.Arrows {
		if a.Mark != Same && a.Line < 0 {
			marked = append(marked, markWords[a.Mark]+" "+a.From+" → "+a.To+": "+strings.Join(a.Labels, ", "))
		}
	}
	assert.Equal(t, []string{
		"new dozing",
		"gone squalling",
		"any ambient: new press five → preening",
		"any ambient: gone press five → squalling",
		"new watch → roost: after 2m",
		"gone watch → roost: after 90s",
	}, marked)
	svg, err := c.SVG()
	require.NoError(t, err)
	_, texts := readTexts(t, svg)
	assert.Contains(t, texts, "+ dozing")
	assert.Contains(t, texts, "− squalling")
	assert.Contains(t, texts, "− press five → squalling")
}

// Any two designs can be drawn together, as text too, and as dots.
func TestCompareAnyTwo(t *testing.T) {
	size := random.Usual
	size.Ambiguous = true
	rapid.Check(t, func(t *rapid.T) {
		x := compare.Compare(size.Design(t), size.Design(t))
		c := Compare(x)
		svg, err := c.SVG()
		require.NoError(t, err)
		_, texts := readTexts(t, svg)
		for _, b := range c.Boxes {
			require.Contains(t, texts, markSigns[b.Mark]+b.Head)
		}
		for _, l := range strings.Split(strings.TrimSuffix(string(c.Mermaid()), "\n"), "\n")[4:] {
			require.True(t, strings.HasPrefix(l, "  %% ") || strings.HasPrefix(l, "  start((") || mermaidBox.MatchString(l) || mermaidArrow.MatchString(l), l)
		}
		if rapid.IntRange(0, 9).Draw(t, "an image if 0") == 0 { // it takes ten times as long
			_, err = c.PNG()
			require.NoError(t, err)
		}
	})
}
