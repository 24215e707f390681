package model

import (
	"bytes"
	"fmt"
	"slices"
	"time"
)

// stopMessage names the message that silences a sound board.
const stopMessage = "stop"

// busyDebounce is how long a busy pin must keep its level (from memory: some boards
// let go of it for a moment between a track's end and the next one's start).
const busyDebounce = 20 * time.Millisecond

// Wired is the design as the chip knows it: in place of a sound board there is
// what is on its pins, messages on the UART or a pulse for each trigger, and its busy
// pin is an input of its name. A design without a sound board is itself.
//
// Every element keeps its index and its place in the file; what is added comes
// last. Wired of a wired design is the same design.
func (d *Design) Wired() *Design {
	if !slices.ContainsFunc(d.Outputs, func(o Output) bool { return o.Kind == KindSound }) {
		return d
	}
	n := *d
	n.Inputs, n.Outputs, n.Tracks = slices.Clone(d.Inputs), slices.Clone(d.Outputs), slices.Clone(d.Tracks)
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Kind == KindSound {
			n.wire(i, d)
		}
	}
	for i := range n.Tracks {
		t := &n.Tracks[i]
		silencer := t.Silencer()
		if silencer.Output == "" && d.hasLine(t.Play.Output) {
			silencer.Output = t.Play.Output
		}
		t.Play, t.Stop = d.wiredPlay(t.Play), d.wiredPlay(silencer)
	}
	n.Transitions = slices.Clone(d.Transitions)
	for i := range n.Transitions {
		t := &n.Transitions[i]
		t.Do = slices.Clone(t.Do)
		for j := range t.Do {
			if or := &t.Do[j]; d.hasLine(or.Output) {
				o := d.Output(or.Output)
				or.Said, or.Action = o.Says(or.Action), Action{Send: o.asks(&or.Action).Name}
			}
		}
	}
	n.Routines = slices.Clone(d.Routines)
	for i := range n.Routines {
		cues := slices.Clone(n.Routines[i].Cues)
		for j := range cues {
			c := &cues[j]
			if d.hasLine(c.Output) {
				c.Action = Action{Send: d.Output(c.Output).asks(&c.Action).Name}
			}
		}
		n.Routines[i].Cues = cues
	}
	return &n
}

// wire puts what is on the pins in the place of a sound board, which is output i of
// the design as written.
func (n *Design) wire(i int, written *Design) {
	o := &written.Outputs[i]
	if o.BusyPin > 0 {
		n.Inputs = append(n.Inputs, Input{
			Source: o.pinFrom("busy_pin"), Name: o.Name, Pin: o.BusyPin, Pull: PullUp, Debounce: busyDebounce, Note: "low while the sound board plays",
		})
	}
	if sb := o.soundBoard(); sb != nil {
		n.Outputs[i] = Output{
			Source: o.Source, Name: o.Name, Kind: KindMessage, Chip: o.Chip, Pin: o.Pin, Note: o.Note, Baud: sb.baud, Messages: written.asked(o),
		}
		return
	}
	for j, pin := range o.Pins {
		pulse := Output{
			Source: o.pinFrom("pins"), Name: o.trigger(1 + j), Kind: KindPulse, Chip: o.Chip, Pin: pin, Note: o.Note, Active: Low, Hold: o.Hold,
		}
		if j == 0 {
			n.Outputs[i] = pulse
		} else {
			n.Outputs = append(n.Outputs, pulse)
		}
	}
}

// pinFrom is an output's source in which `pin` is where another key is.
func (o *Output) pinFrom(key string) Source {
	s := o.Source
	s.Keys = map[string]Key{"pin": o.Keys[key]}
	return s
}

// trigger names the pulse that starts a track; no output of a file can be named so.
func (o *Output) trigger(track int) string { return fmt.Sprintf("%s.%d", o.Name, track) }

// hasLine reports whether an output is a sound board on a serial line.
func (d *Design) hasLine(output string) bool {
	o := d.Output(output)
	return o != nil && o.soundBoard() != nil
}

// wiredPlay is how a track is started or stopped on the pins.
func (d *Design) wiredPlay(p Play) Play {
	o := d.Output(p.Output)
	switch {
	case o == nil || o.Kind != KindSound:
		return p
	case o.soundBoard() == nil:
		return Play{Output: o.trigger(p.Track)}
	}
	return Play{Output: p.Output, Value: o.plays(p.Track).Name}
}

// plays is the message that starts a track on a sound board, as loud as the board's
// volume, or that silences it for track 0. The volume goes with each track: what is
// sent while a board starts up is lost (Flyron, see soundBoards, section 3.5: up to
// 1.5 s).
func (o *Output) plays(track int) Message {
	sb := o.soundBoard()
	if track == 0 {
		return Message{Name: stopMessage, Bytes: sb.stop}
	}
	m := Message{Name: fmt.Sprintf("track-%d", track)}
	if o.Volume > 0 && sb.volume != nil {
		m.Bytes = sb.volume(o.Volume)
	}
	m.Bytes = append(m.Bytes, sb.play(track)...)
	return m
}

// asks is the message that a cue or an order sends to a sound board.
func (o *Output) asks(a *Action) Message {
	sb := o.soundBoard()
	switch {
	case a.Stop:
		return o.plays(0)
	case a.Louder > 0:
		return Message{Name: steps("louder", a.Louder), Bytes: bytes.Repeat(sb.louder, a.Louder)}
	case a.Louder < 0:
		return Message{Name: steps("softer", -a.Louder), Bytes: bytes.Repeat(sb.softer, -a.Louder)}
	}
	m := Message{Name: fmt.Sprintf("volume-%d", a.Volume)}
	if set := sb.volume; set != nil { // else the cue is a fault
		m.Bytes = set(a.Volume)
	}
	return m
}

func steps(way string, n int) string {
	if n == 1 {
		return way
	}
	return fmt.Sprintf("%s-%d", way, n)
}

// asked lists the messages that a design sends to a sound board, each once.
func (d *Design) asked(o *Output) (all []Message) {
	add := func(m Message) {
		if !slices.ContainsFunc(all, func(other Message) bool { return other.Name == m.Name }) {
			all = append(all, m)
		}
	}
	for i := range d.Tracks {
		t := &d.Tracks[i]
		if t.Play.Output == o.Name {
			add(o.plays(t.Play.Track))
			if t.Silencer().Output == "" {
				add(o.plays(0))
			}
		}
		if t.Stop.Output == o.Name {
			add(o.plays(t.Stop.Track))
		}
	}
	for i := range d.Routines {
		for j := range d.Routines[i].Cues {
			if c := &d.Routines[i].Cues[j]; c.Output == o.Name {
				add(o.asks(&c.Action))
			}
		}
	}
	for i := range d.Transitions {
		for j := range d.Transitions[i].Do {
			if or := &d.Transitions[i].Do[j]; or.Output == o.Name {
				add(o.asks(&or.Action))
			}
		}
	}
	return all
}
