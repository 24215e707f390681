package motion

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"propwright/model"
)

func TestWire(t *testing.T) {
	c := model.Colour{R: 10, G: 20, B: 30}
	white := model.Colour{R: 255, G: 255, B: 255}
	for _, tt := range []struct {
		name   string
		o      model.Output
		colour model.Colour
		want   [3]byte
	}{
		{"as it is", model.Output{Count: 24, Brightness: 100}, c, [3]byte{20, 10, 30}},
		{"grb", model.Output{Count: 24, Brightness: 100, Order: "grb"}, c, [3]byte{20, 10, 30}},
		{"rgb", model.Output{Count: 24, Brightness: 100, Order: "rgb"}, c, [3]byte{10, 20, 30}},
		{"brg", model.Output{Count: 24, Brightness: 100, Order: "brg"}, c, [3]byte{30, 10, 20}},
		{"half", model.Output{Count: 24, Brightness: 50}, white, [3]byte{128, 128, 128}}, // 127.5
		{"dark", model.Output{Count: 24, Brightness: 0}, white, [3]byte{0, 0, 0}},
		// 480 mA / 24 are 20 mA a pixel, 19 mA of it for light; white would
		// draw 60 mA, and 255·19/60 = 80.75.
		{"limited", model.Output{Count: 24, Brightness: 100, MaxMA: 480}, white, [3]byte{80, 80, 80}},
		// Pure red draws 20 mA: 255·19/20 = 242.25.
		{"one channel", model.Output{Count: 24, Brightness: 100, MaxMA: 480}, model.Colour{R: 255}, [3]byte{0, 242, 0}},
		{"within its share", model.Output{Count: 24, Brightness: 100, MaxMA: 480}, c, [3]byte{20, 10, 30}},
		{"not enough to idle", model.Output{Count: 24, Brightness: 100, MaxMA: 20}, white, [3]byte{0, 0, 0}},
		// Half of white draws 128·3·20/255 = 30.1 mA; 128·19/30.1 = 80.75.
		{"dimmed, then limited", model.Output{Count: 24, Brightness: 50, MaxMA: 480}, white, [3]byte{80, 80, 80}},
	} {
		assert.Equal(t, tt.want, Wire(&tt.o, tt.colour), tt.name)
	}
}

// A strip that shows one colour throughout never draws more than it may.
func TestScaledStaysWithinMaxMA(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		count := rapid.IntRange(1, 300).Draw(t, "count")
		o := &model.Output{
			Count:      count,
			MaxMA:      count + rapid.IntRange(0, 20000).Draw(t, "above idle"),
			Brightness: model.Percent(rapid.Float64Range(0, 100).Draw(t, "brightness")),
		}
		asked := model.Colour{R: rapid.Uint8().Draw(t, "r"), G: rapid.Uint8().Draw(t, "g"), B: rapid.Uint8().Draw(t, "b")}
		c := Scaled(o, asked)
		drawn := float64(count) * (1 + 20*float64(int(c.R)+int(c.G)+int(c.B))/255)
		if d := float64(count) * Draws(o, asked); math.Abs(d-drawn) > 1e-6 {
			t.Fatalf("%+v draws %.3f mA, not %.3f", c, drawn, d)
		}
		if drawn > float64(o.MaxMA)+1e-6 {
			t.Fatalf("%+v draws %.3f mA of %d", c, drawn, o.MaxMA)
		}
	})
}
