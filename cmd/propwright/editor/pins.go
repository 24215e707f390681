package editor

import (
	"propwright/model"
	"propwright/model/board"
	"strconv"
)

// users returns the elements that use each pin.
func users(d *model.Design) map[int][]model.Elem {
	m := map[int][]model.Elem{}
	m[d.Remote.Pin] = append(m[d.Remote.Pin], model.Elem{Sort: model.SortRemote})
	for i := range d.Inputs {
		m[d.Inputs[i].Pin] = append(m[d.Inputs[i].Pin], model.Elem{Sort: model.SortInput, Index: i})
	}
	onBus := false
	for i := range d.Outputs {
		o, at := &d.Outputs[i], model.Elem{Sort: model.SortOutput, Index: i}
		pins := o.AllPins()
		if o.Bus != 0 && !onBus { // the first one is there for all
			onBus, pins = true, d.BusPins()
		}
		for _, pin := range pins {
			m[pin] = append(m[pin], at)
		}
	}
	return m
}

// use returns what an element puts one of its pins to.
func use(d *model.Design, at model.Elem, pin int) board.Use {
	switch at.Sort {
	case model.SortInput:
		return board.UseInput
	case model.SortOutput:
		if o := &d.Outputs[at.Index]; pin != o.BusyPin || o.BusyPin == 0 {
			return o.Use()
		}
		return board.UseInput
	}
	return board.UseReceiver
}

// firstPin returns the pin of a new element: a free one, or else one that the check will
// report.
func firstPin(d *model.Design, use board.Use) string {
	pin := receiverPin
	if free := d.FreePins(use); len(free) > 0 {
		pin = free[0]
	} else if b, known := board.ByName(d.Prop.Board); known {
		pin = len(b.Pins) - 1
	}
	return strconv.Itoa(pin)
}
