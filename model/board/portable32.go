package board

// portable32 stands for 32-bit boards with the same core, that is with
// digitalWrite, attachInterrupt, micros, Serial1 and the core's Servo and SPI
// libraries. How many pins such a board has differs; 54 are more than most
// have. Strips are sent by the SPI port and messages by Serial1, so there is one
// of each.
var portable32 = &Board{
	Name:     "portable32",
	Pins:     numbered(54),
	Portable: true,
	Most:     map[Use]int{UsePixels: 1, UseMessage: 1},
}

func numbered(n int) []Pin {
	pins := make([]Pin, n)
	for i := range pins {
		pins[i].Number = i
	}
	return pins
}
