package main

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/designs"
)

// Whoever prints is told what does not look as it should.
func TestHintsOnPictures(t *testing.T) {
	t.Chdir(t.TempDir())
	text := strings.Replace(string(designs.HarbourHeron), `label = "Harbour Heron"`, `label = "Heron 🦩"`, 1)
	require.NoError(t, os.WriteFile("heron.prop.toml", []byte(text), 0o666))
	require.NoError(t, os.WriteFile("old.prop.toml", designs.HarbourHeron, 0o666))
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"card", "heron.prop.toml", "-o", "card.pdf"}, "card.pdf: written\na PDF's font has no signs for 🦩: names stand in place of labels that have them; a card in .html uses the browser's fonts\n"},
		{[]string{"card", "heron.prop.toml", "-o", "card.html"}, "card.html: written\n"},
		{[]string{"chart", "heron.prop.toml", "-o", "chart.png"}, "chart.png: written\nthe font of a .png or a .pdf has no signs for 🦩: boxes stand for them; a drawing in .svg uses the viewer's fonts\n"},
		{[]string{"wiring", "heron.prop.toml", "-o", "wiring.png"}, "wiring.png: written\nthe font of a .png or a .pdf has no signs for 🦩: boxes stand for them; a drawing in .svg uses the viewer's fonts\n"},
		{[]string{"chart", "heron.prop.toml", "-o", "chart.svg"}, "chart.svg: written\n"},
		{[]string{"diff", "old.prop.toml", "heron.prop.toml", "--chart", "diff.png"}, "diff.png: written\nthe font of a .png or a .pdf has no signs for 🦩: boxes stand for them; a drawing in .svg uses the viewer's fonts\n"},
	} {
		code, _, errs := call(c.args...)
		assert.Equal(t, exitFine, code, c.args)
		assert.Equal(t, c.want, errs, c.args)
	}
}
