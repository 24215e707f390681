package editor

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/board"
)

// drawChip draws the board's pins in two rows, each with its number, its other roles and
// its user.
func (v *rig) drawChip(p pane.Pen) {
	t, d := v.theme, v.desk.design()
	b, ok := board.ByName(d.Prop.Board)
	if !ok {
		p.Text(1, 0, t.Warning, "the board is not known: choose one")
		return
	}
	taken := users(d)
	free := 0
	for _, pin := range b.Pins {
		if taken[pin.Number] == nil {
			free++
		}
	}
	p.Text(1, 0, t.Head, pane.Pad(fmt.Sprintf("%s: %d of %d pins free", b.Name, free, len(b.Pins)), p.W-2))
	here, _ := v.elem()
	var below []string
	for _, n := range v.pinNotes(b, taken) {
		below = append(below, pane.Wrap(n, p.W-2)...)
	}
	wrong := len(below)
	half := (len(b.Pins) + 1) / 2
	row := 0 // of the pin under the cursor
	if n, ok := pinOf(d, here); ok {
		if pin, ok := b.Pin(n); ok {
			below = append(below, pinText(b, pin))
			at := slices.IndexFunc(b.Pins, func(p board.Pin) bool { return p.Number == n })
			row = min(at, len(b.Pins)-1-at)
		}
	}
	rows := min(half, max(p.H-4-len(below), 4))
	v.chipTop = pane.Scrolled(v.chipTop, row, rows, half)
	side := max((p.W-19)/2, 6)
	x := side + 1
	p.Text(x, 1, t.Box, "┌───────────────┐")
	for n := range rows {
		i, y := v.chipTop+n, 2+n
		p.Text(x, y, t.Box, "┤               ├")
		v.drawPin(p, b, b.Pins[i], taken[i], here, y, side, x+1, true)
		if j := len(b.Pins) - 1 - i; j >= half {
			v.drawPin(p, b, b.Pins[j], taken[j], here, y, side, x+17, false)
		}
	}
	p.Part(0, 2, p.W, rows).More(t.Strong, v.chipTop > 0, v.chipTop+rows < half)
	p.Text(x, 2+rows, t.Box, "└───────────────┘")
	for i, s := range below {
		style := t.Dim
		if i < wrong {
			style = t.Warning
		}
		p.Text(1, 4+rows+i, style, s)
	}
}

// drawPin draws a pin: its number inside the chip, its user outside.
func (v *rig) drawPin(p pane.Pen, b *board.Board, pin board.Pin, by []model.Elem, here model.Elem, y, side, x int, left bool) {
	t, d := v.theme, v.desk.design()
	style, s := t.Dim, "free"
	if len(by) > 0 {
		style = t.Plain
		names := make([]string, len(by))
		for i, at := range by {
			names[i] = pinName(d, at)
			if at == here {
				style = t.CursorIdle
			}
		}
		s = strings.Join(names, " + ")
		if len(by) > 1 {
			style, s = t.Errs, "! "+s
		}
	}
	s = pane.Fit(s, side)
	number := fmt.Sprint(pin.Number)
	role := b.AnalogName(pin.Number)
	if len(pin.Roles) > 0 {
		role = string(pin.Roles[0])
	}
	if left {
		p.Text(side-pane.Width(s), y, style, s)
		p.Text(x+1, y, t.Strong, fmt.Sprintf("%-2s", number))
		p.Within(x+4, y, 3, t.Dim, short(role))
		return
	}
	p.Text(x, y, style, s)
	p.Text(x-4, y, t.Strong, fmt.Sprintf("%2s", number))
	p.Within(x-8, y, 3, t.Dim, short(role))
}

// short returns a role's name on three columns.
func short(role string) string {
	if n, ok := strings.CutPrefix(role, "INT"); ok {
		return "IN" + n
	}
	switch board.Role(role) {
	case board.RXD:
		return "RX"
	case board.TXD:
		return "TX"
	case board.MOSI:
		return "MO"
	case board.MISO:
		return "MI"
	}
	return role
}

// pinName returns the name of a pin's user.
func pinName(d *model.Design, at model.Elem) string {
	switch {
	case at.Sort == model.SortRemote:
		return "receiver"
	case at.Sort == model.SortOutput && d.Outputs[at.Index].Bus != 0:
		return "expanders"
	}
	return d.Name(at)
}

// pinOf returns the first pin that an element takes.
func pinOf(d *model.Design, at model.Elem) (int, bool) {
	taken := users(d)
	for _, pin := range slices.Sorted(maps.Keys(taken)) {
		if slices.Contains(taken[pin], at) {
			return pin, true
		}
	}
	return 0, false
}

// pinText lists a pin's roles.
func pinText(b *board.Board, p board.Pin) string {
	s := fmt.Sprintf("pin %d", p.Number)
	if name := b.AnalogName(p.Number); name != "" {
		s += " (" + name + ")"
	}
	if p.Port != 0 {
		s += fmt.Sprintf(" is P%c%d", p.Port, p.Bit)
	}
	if p.Compare != "" {
		s += ", " + p.Compare
	}
	for _, r := range p.Roles {
		s += ", " + string(r)
	}
	return s
}

// pinNotes lists the pins that cannot do what they are used for.
func (v *rig) pinNotes(b *board.Board, taken map[int][]model.Elem) []string {
	d := v.desk.design()
	var notes []string
	for _, pin := range slices.Sorted(maps.Keys(taken)) {
		for _, at := range taken[pin] {
			if why := b.Cannot(pin, use(d, at, pin)); why != "" {
				notes = append(notes, pinName(d, at)+": "+why)
			}
		}
	}
	return notes
}
