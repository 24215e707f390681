package board

import "time"

// PixelTime is how long a pixel of a WS2812-class strip takes on the wire: 24
// bits of 1.25 µs (Worldsemi, WS2812B data sheet, "Data transfer time").
const PixelTime = 30 * time.Microsecond

// What the firmware does with a strip; the package comment of gen/sketch says
// why.
const (
	frame     = 20 * time.Millisecond
	paintTime = 30 * time.Microsecond // at the most, to work out a pixel

	// LongestStrip is the number of pixels that can be sent between the last
	// servo's pulse and the next frame: 2.6 ms are the servos', and no break
	// is allowed within a strip.
	LongestStrip = 575
)

// SendTime is how long the chip does nothing but send a strip.
func SendTime(pixels int) time.Duration { return time.Duration(pixels) * PixelTime }

// Refreshes is how often a second strips of so many pixels in all are sent,
// while the remote is quiet: with every frame of 20 ms, or every second or
// third one where working out and sending all pixels takes longer.
func Refreshes(pixels int) float64 {
	n := (time.Duration(pixels)*(paintTime+PixelTime) + frame - 1) / frame
	return float64(time.Second/frame) / float64(max(n, 1))
}
