package sketch

// chip is what differs from chip to chip beside the pins.
type chip struct {
	UART  int // the number of the hardware UART
	Noise noise
}

// noise is where a random number comes from at power-up.
type noise struct {
	Source string
	Select []string // the statements that choose the converter's channel
}

var chips = map[string]chip{
	"atmega328p": {0, noise{
		"The chip's own thermometer",
		[]string{"ADMUX = _BV(REFS1) | _BV(REFS0) | _BV(MUX3);"},
	}},
	"atmega2560": {0, noise{
		"The chip's own reference, measured against its supply",
		[]string{"ADMUX = _BV(REFS0) | _BV(MUX4) | _BV(MUX3) | _BV(MUX2) | _BV(MUX1);"},
	}},
	"atmega32u4": {1, noise{
		"The chip's own thermometer",
		[]string{"ADMUX = _BV(REFS1) | _BV(REFS0) | _BV(MUX2) | _BV(MUX1) | _BV(MUX0);", "ADCSRB |= _BV(MUX5);"},
	}},
}
