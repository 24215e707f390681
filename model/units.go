package model

import "time"

// Degrees is an angle of a joint in degrees ("deg" in a file).
type Degrees float64

// DegPerS is a joint's speed in degrees per second ("deg/s").
type DegPerS float64

// DegPerS2 is a joint's acceleration in degrees per second squared ("deg/s2").
type DegPerS2 float64

// RevPerS is a spinner's speed in revolutions per second ("rev/s").
type RevPerS float64

// Percent is a share in hundredths ("%").
type Percent float64

// Colour is a colour as "#rrggbb".
type Colour struct{ R, G, B uint8 }

// Span is a range of times, lo..hi; Lo == Hi where the file gives one time.
type Span struct{ Lo, Hi time.Duration }
