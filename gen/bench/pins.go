package bench

import (
	"fmt"

	"propwright/model/board"
)

// ports names the pins of a chip by port and bit, as "B5", in the order of the
// core's pin numbers; those of Host by their numbers. It is nil where no board
// has the chip.
func ports(mcu string) []string {
	if mcu == Host {
		mcu = "portable32"
	}
	b, ok := board.ByName(mcu)
	if !ok {
		return nil
	}
	names := make([]string, len(b.Pins))
	for i, p := range b.Pins {
		names[i] = fmt.Sprintf("%c%d", p.Port, p.Bit)
		if b.Portable {
			names[i] = fmt.Sprint(p.Number)
		}
	}
	return names
}
