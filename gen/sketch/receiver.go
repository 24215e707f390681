package sketch

import "fmt"

// receiver says how the board watches the remote's pin.
type receiver struct {
	Pin    string // the register to read; on a portable board the pin's number, and no more is set
	Bit    uint8
	Vector string   // of the interrupt that tells every change
	Clear  string   // the statement that clears a pending interrupt
	Enable []string // the statements that enable it
}

// newReceiver sets up a pin-change interrupt, or an external interrupt at
// every edge where the pin has no other.
func newReceiver(p place) receiver {
	r := receiver{Pin: p.PinReg, Bit: p.Bit}
	var n int
	if _, err := fmt.Sscanf(p.Interrupt, "PCINT%d", &n); err == nil {
		bank, bit := n/8, n%8
		r.Vector = fmt.Sprintf("PCINT%d_vect", bank)
		r.Clear = fmt.Sprintf("PCIFR = _BV(PCIF%d);", bank)
		r.Enable = []string{
			fmt.Sprintf("PCMSK%d = _BV(%d);", bank, bit),
			fmt.Sprintf("PCICR |= _BV(PCIE%d);", bank),
		}
	} else if _, err := fmt.Sscanf(p.Interrupt, "INT%d", &n); err == nil {
		control := "EICRA"
		if n >= 4 {
			control = "EICRB"
		}
		r.Vector = fmt.Sprintf("INT%d_vect", n)
		r.Clear = fmt.Sprintf("EIFR = _BV(INTF%d);", n)
		r.Enable = []string{
			fmt.Sprintf("%s = (uint8_t)((%s & ~_BV(ISC%d1)) | _BV(ISC%d0)); /* at every edge */", control, control, n, n),
			fmt.Sprintf("EIMSK |= _BV(INT%d);", n),
		}
	}
	return r
}
