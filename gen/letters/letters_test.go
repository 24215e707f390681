package letters

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

func TestWritten(t *testing.T) {
	for text, want := range map[string]string{
		"Héron Ωμέγα Жар → “…” − ·": "Héron Ωμέγα Жар → “…” − ·",
		"a 🦩 b": "a □ b",
		"👩‍🚀":   "□□", // joined by an invisible character
		"שלום":  "□□□□",
		"❤️":    "□", // with a variation selector
		"":      "",
	} {
		assert.Equal(t, want, Written(text))
	}
}

func TestMissing(t *testing.T) {
	assert.Equal(t, "", Missing("Harbour Héron", "→ back"))
	assert.Equal(t, "🦩漢", Missing("a 🦩 漢", "🦩"))
}

// The bold font can write what the regular one can, and the box is one of it.
func TestBoldIsAlike(t *testing.T) {
	bold, err := sfnt.Parse(gobold.TTF)
	assert.NoError(t, err)
	var b, c sfnt.Buffer
	for r := rune(0); r < 0x30000; r++ {
		i, err := bold.GlyphIndex(&c, r)
		assert.NoError(t, err)
		if can(&b, r) != (i != 0) {
			t.Fatalf("%U", r)
		}
	}
	assert.True(t, can(&b, box))
}

// No two characters come closer than their widths say, so the width of a text is that
// of its parts.
func TestNoKerning(t *testing.T) {
	var b sfnt.Buffer
	for _, f := range []*sfnt.Font{regular(), bold()} {
		n := sfnt.GlyphIndex(f.NumGlyphs())
		for left := range n {
			for right := range n {
				kern, err := f.Kern(&b, left, right, fixed.I(64), font.HintingNone)
				if err != nil || kern != 0 {
					t.Fatal(left, right, kern, err)
				}
			}
		}
	}
}
