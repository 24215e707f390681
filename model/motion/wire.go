package motion

import (
	"math"

	"propwright/model"
)

// What a WS2812-class pixel draws: common practice, no published source (the
// WS2812B data sheet gives no supply current).
const (
	channelMA = 20 // one colour fully on
	idleMA    = 1  // dark
)

// Scaled is the colour as the pixels output really shows it: each channel at
// the output's Brightness, rounded, then all three reduced alike (rounded
// down) as far as one pixel's share of MaxMA asks, so that the strip stays
// within MaxMA even with every pixel in this colour.
func Scaled(o *model.Output, c model.Colour) model.Colour {
	dim := func(v uint8) int {
		return int(math.Round(min(max(float64(v)*float64(o.Brightness)/100, 0), 255)))
	}
	r, g, b := dim(c.R), dim(c.G), dim(c.B)
	// With sum = r+g+b a pixel draws channelMA·sum/255 above its idle current,
	// and may draw MaxMA/Count - idleMA.
	may := max(o.MaxMA-o.Count*idleMA, 0) * 255
	draws := (r + g + b) * channelMA * o.Count
	if o.MaxMA > 0 && draws > may {
		r, g, b = r*may/draws, g*may/draws, b*may/draws
	}
	return model.Colour{R: uint8(r), G: uint8(g), B: uint8(b)}
}

// Draws is what one pixel of the output draws in milliampere when it is to
// show the colour, which is scaled first.
func Draws(o *model.Output, c model.Colour) float64 {
	return lightOf(o, c).ma().Lo
}

// ma is what a pixel draws that shows the light, in milliampere.
func (l Light) ma() Range {
	return Range{
		idleMA + channelMA*(l[0].Lo+l[1].Lo+l[2].Lo)/255,
		idleMA + channelMA*(l[0].Hi+l[1].Hi+l[2].Hi)/255,
	}
}

// MotorMA is what a servo or a spinner is counted with, in milliampere: one that
// moves with its stall current, because it draws that for a moment whenever it
// starts; one that holds still with one part in holding of it. Common practice,
// no published source.
func MotorMA(o *model.Output, moves bool) float64 {
	const holding = 5
	if moves {
		return float64(o.StallMA)
	}
	return float64(o.StallMA) / holding
}

// Wire is the scaled colour as the bytes that go to a pixel, in the output's
// Order.
func Wire(o *model.Output, c model.Colour) [3]byte {
	c = Scaled(o, c)
	wire := [3]byte{c.G, c.R, c.B}
	for i := 0; i < len(o.Order) && i < len(wire); i++ {
		switch o.Order[i] {
		case 'r':
			wire[i] = c.R
		case 'g':
			wire[i] = c.G
		case 'b':
			wire[i] = c.B
		}
	}
	return wire
}
