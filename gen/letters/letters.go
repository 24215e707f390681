// Package letters knows which characters the Go fonts can write, in which
// charts as PNG and cards as PDF are set: Latin, Greek and Cyrillic letters,
// no emoji, and no letters of scripts that are written from right to left. It
// hands the fonts out, and breaks lines.
//
// It refuses to know what is written, and where.
package letters

import (
	"fmt"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
)

// The Go fonts, which have the same characters.
var (
	regular = parsed(goregular.TTF)
	bold    = parsed(gobold.TTF)
)

func parsed(ttf []byte) func() *sfnt.Font {
	return sync.OnceValue(func() *sfnt.Font {
		f, err := sfnt.Parse(ttf)
		if err != nil {
			panic(fmt.Sprintf("the font that comes with the library: %v", err))
		}
		return f
	})
}

// Face returns a Go font of a size in dots. A face must not be shared by goroutines.
func Face(isBold bool, size float64) font.Face {
	f := regular()
	if isBold {
		f = bold()
	}
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72})
	if err != nil {
		panic(fmt.Sprintf("the font that comes with the library: %v", err))
	}
	return face
}

// Families are the fonts that a viewer of an SVG should use: Helvetica, for which
// charts and cards leave room, and fonts of the same widths.
const Families = "Helvetica, Arial, Liberation Sans, Nimbus Sans, Arimo, sans-serif"

// box stands for a character that cannot be written.
const box = '□'

// Written returns a text as it can be written: a box stands for each character that
// cannot be, and combining marks after such a character are left out.
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
	i, err := regular().GlyphIndex(b, r)
	return err == nil && i != 0
}
