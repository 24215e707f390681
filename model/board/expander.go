package board

import (
	"fmt"
	"time"
)

// A PWM expander is a chip on the I²C bus with 16 outputs of its own. All here
// is from NXP, "PCA9685" product data sheet, rev. 4, 16 April 2015.
const (
	ExpanderChannels = 16
	expanderHz       = 25_000_000 // of its oscillator, "typical": no tolerance is given
	expanderSteps    = 4096       // of a cycle

	// ExpanderPrescale makes a cycle last a frame, by equation 1 of section
	// 7.3.5: round(oscillator / (steps · rate)) - 1.
	ExpanderPrescale = (expanderHz+expanderSteps*expanderRate/2)/(expanderSteps*expanderRate) - 1
	expanderRate     = int(time.Second / frame)

	leastExpander = 0x40 // the six address pins are low
	mostExpander  = 0x7F
	allCall       = 0x70
	leastReserved = 0x78
)

// CannotBeExpander says why no expander can have the I²C address, as a clause; ""
// where one can.
func CannotBeExpander(address int) string {
	switch {
	case address < leastExpander || address > mostExpander:
		return fmt.Sprintf("an expander's address is from 0x%02x to 0x%02x", leastExpander, mostExpander)
	case address == allCall: // section 7.1.2
		return fmt.Sprintf("every expander answers to 0x%02x at power-up", allCall)
	case address >= leastReserved: // section 7.1.1; NXP, UM10204, "I²C-bus specification", table 4
		return fmt.Sprintf("the I²C bus reserves the addresses from 0x%02x on", leastReserved)
	}
	return ""
}

// I2C gives the pins of the board's I²C port, by which expanders are driven.
func (b *Board) I2C() (sda, scl Pin) {
	sda, _ = b.RolePin(SDA)
	scl, _ = b.RolePin(SCL)
	return sda, scl
}

// CannotExpand says why the board cannot drive an expander, as a clause; ""
// where it can.
func (b *Board) CannotExpand() string {
	if b.Portable {
		return fmt.Sprintf("the firmware for the %s board drives no expander, as no core's library does so without waiting", b.Name)
	}
	return ""
}
