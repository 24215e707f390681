package picture

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawn is a picture of boxes with words and lines between them.
func drawn(t *rapid.T) *Picture {
	length := func(what string, most int) float64 { return float64(rapid.IntRange(20, most).Draw(t, what)) }
	p := &Picture{W: length("w", 3000), H: length("h", 3000), Label: "boxes"}
	p.Figures = []Figure{{Shapes: []any{Path{D: Polygon(0, 0, p.W, 0, p.W, p.H, 0, p.H), Fill: "#ffffff", Stroke: "none"}}}}
	for i := range rapid.IntRange(1, 30).Draw(t, "boxes") {
		x, y := length("x", int(p.W))-3, length("y", int(p.H))-3
		p.Figures = append(p.Figures, Figure{Shapes: []any{
			Path{D: Polygon(x-15, y-15, x, y-15, x, y, x-15, y), Fill: "#eeeeee", Stroke: "#000000", Width: 1},
			Words{X: Number(x), Y: Number(y), Size: 9, Fill: "#000000", Anchor: "end", Text: fmt.Sprint(i)},
			Path{D: Line(x, y, length("to x", int(p.W))-3, y), Fill: "none", Stroke: "#000000", Width: 1},
		}})
	}
	return p
}

// In print no type is smaller than Legible, all that is drawn is on a sheet,
// and what is not to be cut is whole on one.
func TestPartsShowAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t)
		l, m := p.layout(), p.measure()
		n, smallest := p.Sheets()
		require.Len(t, l.parts, n)
		require.GreaterOrEqual(t, smallest, Legible-1e-9)
		w, h := l.W/l.scale, l.H/l.scale
		sheets := func(fits func(part, rectangle) bool, r rectangle) (n int) {
			for _, s := range l.parts {
				if fits(s, r) {
					n++
				}
			}
			return n
		}
		for _, r := range m.whole {
			require.Positive(t, sheets(func(s part, r rectangle) bool {
				return s.x <= r[0][0]+0.01 && r[0][1] <= s.x+w+0.01 && s.y <= r[1][0]+0.01 && r[1][1] <= s.y+h+0.01
			}, r), "%v is cut", r)
		}
		for _, r := range m.ink {
			for _, x := range r[0] {
				for _, y := range r[1] {
					require.Positive(t, sheets(func(s part, r rectangle) bool {
						return s.x <= x+0.01 && x <= s.x+w+0.01 && s.y <= y+0.01 && y <= s.y+h+0.01
					}, r), "%g, %g is on no sheet", x, y)
				}
			}
		}
	})
}

// Poppler counts the sheets.
func TestPDFIsA4(t *testing.T) {
	if _, err := exec.LookPath("pdfinfo"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("pdfinfo is not installed; run testdata/setup")
		}
		t.Skip("pdfinfo is not installed")
	}
	p := &Picture{W: 2000, H: 300, Label: "wide"}
	for x := 100.0; x < 2000; x += 100 {
		p.Figures = append(p.Figures, Figure{Shapes: []any{
			Path{D: Polygon(x-60, 90, x, 90, x, 120, x-60, 120), Fill: "#eeeeee", Stroke: "#000000", Width: 1, Dashes: Numbers{3, 2}},
			Words{X: Number(x), Y: 100, Size: 9, Fill: "#000000", Weight: "bold", Anchor: "middle", Text: "word"},
		}})
	}
	n, _ := p.Sheets()
	text, err := p.PDF()
	require.NoError(t, err)
	again, err := p.PDF()
	require.NoError(t, err)
	assert.True(t, bytes.Equal(text, again), "the same bytes each time")
	cmd := exec.Command("pdfinfo", "-")
	cmd.Stdin = bytes.NewReader(text)
	out, err := cmd.Output()
	require.NoError(t, err)
	assert.Equal(t, 3, n)
	assert.Regexp(t, `(?m)^Pages:\s+3$`, string(out))
	assert.Regexp(t, `(?m)^Page size:\s+841\.89 x 595\.28 pts \(A4\)`, string(out))
}
