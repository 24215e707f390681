package picture

import (
	"encoding/xml"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// In a viewer with other fonts words take the width that a drawing has left for them.
func TestWordsKeepTheirWidth(t *testing.T) {
	p := &Picture{W: 100, H: 50, Figures: []Figure{{Shapes: []any{
		Words{X: 10, Y: 20, Size: 9, Fill: "#000000", Text: "a wide lily"},
		Path{D: Line(0, 0, 10, 10), Fill: "none", Stroke: "#000000"},
		Words{X: 10, Y: 40, Size: 12, Weight: "bold", Anchor: "end", Fill: "#000000", Text: "a wide lily"},
	}}}}
	svg, err := p.SVG()
	require.NoError(t, err)
	again, err := p.SVG()
	require.NoError(t, err)
	assert.Equal(t, string(svg), string(again))
	var drawn struct {
		Lines []struct {
			Length float64 `xml:"textLength,attr"`
			Adjust string  `xml:"lengthAdjust,attr"`
			Text   string  `xml:",chardata"`
		} `xml:"g>text"`
	}
	require.NoError(t, xml.Unmarshal(svg, &drawn))
	require.Len(t, drawn.Lines, 2)
	faces := Faces{}
	for i, want := range []float64{faces.Width("a wide lily", false, 9), faces.Width("a wide lily", true, 12)} {
		assert.InDelta(t, want, drawn.Lines[i].Length, 0.05)
		assert.Equal(t, "spacingAndGlyphs", drawn.Lines[i].Adjust)
		assert.Equal(t, "a wide lily", drawn.Lines[i].Text)
	}
}
