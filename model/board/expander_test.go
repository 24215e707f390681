package board

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The data sheet's own example in section 7.3.5 is 200 Hz, prescale 30; 50 Hz
// by the same equation is 0x79.
func TestExpanderPrescale(t *testing.T) {
	assert.Equal(t, 0x79, ExpanderPrescale)
}

func TestCannotBeExpander(t *testing.T) {
	can := 0
	for a := -1; a <= 0x100; a++ {
		if CannotBeExpander(a) == "" {
			can++
		}
	}
	assert.Equal(t, 64-1-8, can, "six address pins, without All Call and the bus's reserved ones")
	assert.Contains(t, CannotBeExpander(0x3F), "from 0x40 to 0x7f")
	assert.Contains(t, CannotBeExpander(0x70), "every expander answers")
	assert.Contains(t, CannotBeExpander(0x78), "reserves")
}

// Data sheets' pin configurations, as each board's file names them; the core's
// numbers are its pins_arduino.h's PIN_WIRE_SDA and PIN_WIRE_SCL.
func TestI2C(t *testing.T) {
	for name, want := range map[string][2]int{"atmega328p": {18, 19}, "atmega2560": {20, 21}, "atmega32u4": {2, 3}} {
		b, _ := ByName(name)
		sda, scl := b.I2C()
		assert.Empty(t, b.CannotExpand())
		assert.Equal(t, want, [2]int{sda.Number, scl.Number}, name)
	}
	b, _ := ByName("portable32")
	assert.Contains(t, b.CannotExpand(), "drives no expander")
}
