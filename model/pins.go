package model

import (
	"slices"

	"propwright/model/board"
)

// FreePins lists the pins of the design's board that nothing takes and that can
// be put to a use; a given pin is listed though something takes it. Those for
// talking to a computer are for messages only. Where the board is not known
// there are none.
func (d *Design) FreePins(use board.Use, given ...int) []int {
	b, ok := board.ByName(d.Prop.Board)
	if !ok {
		return nil
	}
	taken := []int{d.Remote.Pin}
	for i := range d.Inputs {
		taken = append(taken, d.Inputs[i].Pin)
	}
	for i := range d.Outputs {
		taken = append(taken, d.Outputs[i].AllPins()...)
	}
	taken = append(taken, d.BusPins()...)
	var free []int
	for _, p := range b.Pins {
		kept := (p.Has(board.RXD) || p.Has(board.TXD)) && use != board.UseMessage
		switch n := p.Number; {
		case slices.Contains(given, n), !slices.Contains(taken, n) && !kept && b.Cannot(n, use) == "":
			free = append(free, n)
		}
	}
	return free
}

// Use is what an output puts its pin to.
func (o *Output) Use() board.Use {
	if o.soundBoard() != nil {
		return board.UseMessage
	}
	return board.Use(o.Kind)
}

// AllPins lists the pins that an output takes; none where it is on an expander.
func (o *Output) AllPins() []int {
	if o.Bus != 0 {
		return nil
	}
	pins := o.Pins
	if o.Kind != KindSound || o.Chip != Triggers { // a wired one has a pin
		pins = []int{o.Pin}
	}
	if o.BusyPin > 0 {
		pins = append(slices.Clone(pins), o.BusyPin)
	}
	return pins
}
