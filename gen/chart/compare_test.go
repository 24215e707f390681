package chart

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/compare"
	"propwright/testdata/designs"
)

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
	x, err := compare.Compare(read(before), read(after))
	require.NoError(t, err)
	c := Compare(x)
	var marked []string
	for _, b := range c.Boxes {
		if b.Mark != Same {
			marked = append(marked, b.Mark.String()+" "+b.ID)
		}
		for _, l := range b.Lines {
			if l.Mark != Same {
				marked = append(marked, b.ID+": "+l.Mark.String()+" "+l.Text)
			}
		}
	}
	for _, a := range c.Arrows {
		if a.Mark != Same && a.Line < 0 {
			marked = append(marked, a.Mark.String()+" "+a.From+" → "+a.To+": "+strings.Join(a.Labels, ", "))
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
