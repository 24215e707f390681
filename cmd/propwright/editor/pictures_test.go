package editor

import (
	"encoding/xml"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/editor/pane"
	"propwright/gen/card"
	"propwright/gen/chart"
	"propwright/gen/trace"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
)

var updatePictures = flag.Bool("update", false, "write the pictures in docs anew")

// The pictures in docs are what the demo looks like now. After a change that is
// meant, go test ./cmd/propwright/editor -run TestPictures -args -update draws them.
func TestPictures(t *testing.T) {
	t.Parallel()
	pictures := map[string][]byte{}
	for name, keys := range map[string][]string{
		"matrix":    {"F2", "Down", "Down", "Right", "Right", "Right", "Right", "Right"},
		"remote":    {"F3"},
		"rig":       {"F4"},
		"routines":  {"F5"},
		"graph":     {"F6"},
		"rehearsal": slices.Concat([]string{"F8", "Down", "Enter"}, frames(30), []string{"Down", "Down", "Enter"}, frames(60)),
	} {
		s := newScene(t, 100, 24, 256)
		s.checked().keys(keys...).checked()
		pictures["editor-"+name+".svg"] = s.svg("Harbour Heron in the editor: " + name)
	}

	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	c, err := chart.New(d, chart.View{})
	require.NoError(t, err)
	plot, err := trace.OfRoutine(d, "greet")
	require.NoError(t, err)
	for name, draw := range map[string]func() ([]byte, error){
		"chart": c.SVG, "card": card.New(check.NewStudy(d), "").SVG, "routine": plot.SVG,
	} {
		text, err := draw()
		require.NoError(t, err)
		pictures[name+".svg"] = text
	}

	const dir = "../../../docs"
	for name, text := range pictures {
		file := filepath.Join(dir, name)
		if *updatePictures {
			require.NoError(t, os.WriteFile(file, text, 0o666))
		}
		drawn, err := os.ReadFile(file)
		require.NoError(t, err)
		require.True(t, string(drawn) == string(text), "%s is not what the demo looks like: run this test with -update, and look at what changed", file)
	}
	page, err := os.ReadFile(filepath.Join(dir, "README.md"))
	require.NoError(t, err)
	kept, err := filepath.Glob(filepath.Join(dir, "*.svg"))
	require.NoError(t, err)
	require.Len(t, kept, len(pictures), "a picture that nothing draws")
	require.Equal(t, len(pictures), strings.Count(string(page), "]("))
	for name := range pictures {
		require.Contains(t, string(page), "]("+name+")")
	}
}

// frames are the keys that let n frames of 20 ms pass.
func frames(n int) []string { return slices.Repeat([]string{"."}, n) }

// Points of a cell, of its letters and their base line.
const (
	cellWidth, cellHeight = 8, 17
	letterSize, baseLine  = 13, 13
)

// The colours of the terminal in the pictures: its own, and the theme's, lighter, as
// the background is dark.
const paper, ink = "#1c1f24", "#d8d8d8"

var terminalColours = map[tcell.Color]string{
	tcell.ColorBlack: paper, pane.Gray: "#8a8f98", pane.Red: "#e06c6c",
	pane.Green: "#7fbf6f", pane.Orange: "#d0b050", pane.Purple: "#c58ae0", pane.Teal: "#56b6b6",
}

// hexOf is a colour as SVG has it; otherwise is what stands for none.
func hexOf(c tcell.Color, otherwise string) string {
	if c == tcell.ColorDefault {
		return otherwise
	}
	if hex, ok := terminalColours[c]; ok {
		return hex
	}
	return fmt.Sprintf("#%06x", c.Hex())
}

// svg draws the screen's cells.
func (s *scene) svg(label string) []byte {
	s.do(func() {})
	cells, w, h := s.screen.GetContents()
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" role="img" aria-label="%s" font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="%d">`+"\n",
		w*cellWidth, h*cellHeight, label, letterSize)
	fmt.Fprintf(&b, `<rect width="100%%" height="100%%" fill="%s"/>`+"\n", paper)
	for y := range h {
		row := cells[y*w : (y+1)*w]
		for x := 0; x < w; {
			end, text := x, ""
			for ; end < w && row[end].Style == row[x].Style; end++ {
				text += string(row[end].Runes)
			}
			stretch(&b, text, x*cellWidth, y*cellHeight, row[x].Style)
			x = end
		}
	}
	b.WriteString("</svg>\n")
	return []byte(b.String())
}

// stretch draws cells of one style, from their upper left corner.
func stretch(b *strings.Builder, text string, x, y int, style tcell.Style) {
	fg, bg, attributes := style.Decompose()
	fore, back := hexOf(fg, ink), hexOf(bg, paper)
	if attributes&tcell.AttrReverse != 0 {
		fore, back = back, fore
	}
	if back != paper {
		fmt.Fprintf(b, `<rect x="%d" y="%d" width="%d" height="%d" fill="%s"/>`+"\n", x, y, utf8.RuneCountInString(text)*cellWidth, cellHeight, back)
	}
	words := strings.TrimRight(text, " ")
	if words == "" {
		return
	}
	looks := ""
	for _, a := range []struct {
		mask tcell.AttrMask
		says string
	}{{tcell.AttrBold, ` font-weight="bold"`}, {tcell.AttrUnderline, ` text-decoration="underline"`}, {tcell.AttrDim, ` opacity="0.6"`}} {
		if attributes&a.mask != 0 {
			looks += a.says
		}
	}
	fmt.Fprintf(b, `<text x="%d" y="%d" textLength="%d" xml:space="preserve" fill="%s"%s>`, x, y+baseLine, utf8.RuneCountInString(words)*cellWidth, fore, looks)
	xml.EscapeText(b, []byte(words)) // a strings.Builder takes everything
	b.WriteString("</text>\n")
}
