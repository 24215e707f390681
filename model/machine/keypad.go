package machine

import (
	"cmp"
	"slices"

	"propwright/model"
	"propwright/model/ir"
)

// A Keypad turns a remote's frames into events (rule 9). A press is lengthened
// by frames, not by time: what lies between two frames is not known until the
// second has come.
//
// Times are milliseconds since power-up and never go back.
type Keypad struct {
	releaseAfter []uint32 // [button], milliseconds from the last frame
	press        []EventID
	holds        [][]hold  // [button], the shorter time first
	repeat       []EventID // [button], -1: no transition names it
	release      []EventID // likewise

	down        bool // a press is going on
	button      int
	first, last uint32 // its first and its last frame
	held        int    // how many of the button's holds have fired
}

type hold struct {
	event EventID
	time  uint32 // milliseconds
}

// RepeatPeriodNEC is the time from frame to frame of a button kept down on a
// NEC remote, in milliseconds (Vishay, "Data Formats for IR Remote Control",
// document 80071, section "NEC Code": repetition every 108 ms).
const RepeatPeriodNEC = 108

// ReleaseAfter is how long after a code's last frame its button counts as
// released, in milliseconds.
func ReleaseAfter(c ir.Code) uint32 { return Millis(c.Lasting()) }

// Frames tells when the frames of a button come that repeat its first one while
// it is down, and when it counts as released. All in milliseconds.
type Frames struct {
	First   uint32 // from the first frame to the one that repeats it first; a frame comes with its end
	Period  uint32 // from frame to frame after that; 0 for a button that sends one frame a press
	Release uint32 // from the last frame to the release
}

// Frames gives the times of a button's frames. Those of a button whose code
// cannot be read come every otherwise milliseconds.
func (p *Program) Frames(button int, otherwise uint32) Frames {
	c, err := p.Design.Remote.Sends(&p.Design.Remote.Buttons[button])
	if err != nil {
		otherwise = max(1, otherwise)
		return Frames{First: otherwise, Period: otherwise, Release: otherwise * 7 / 2}
	}
	return Frames{First: Millis(c.FirstRepeat()), Period: Millis(c.RepeatPeriod()), Release: ReleaseAfter(c)}
}

// From is when the first repeat comes at a time of the press or after it; false
// where none does.
func (f Frames) From(t uint32) (at uint32, ok bool) {
	switch {
	case f.Period == 0:
		return 0, false
	case t <= f.First:
		return f.First, true
	}
	return f.First + (t-f.First+f.Period-1)/f.Period*f.Period, true
}

// NewKeypad makes the keypad of a program's remote. The frames of a button
// whose code cannot be read come every repeatPeriod milliseconds while it is
// down.
func NewKeypad(p *Program, repeatPeriod uint32) *Keypad {
	k := &Keypad{}
	for i := range p.Design.Remote.Buttons {
		k.releaseAfter = append(k.releaseAfter, p.Frames(i, repeatPeriod).Release)
		name := p.Design.Remote.Buttons[i].Name
		k.press = append(k.press, EventID(i))
		k.holds = append(k.holds, p.holds(name))
		named := func(kind model.TriggerKind) EventID {
			if e, ok := p.Event(model.Trigger{Kind: kind, Name: name}); ok {
				return e
			}
			return -1
		}
		k.repeat = append(k.repeat, named(model.Repeated))
		k.release = append(k.release, named(model.Release))
	}
	return k
}

// holds are the hold events of a button, the shorter time first.
func (p *Program) holds(button string) []hold {
	var hs []hold
	for e, t := range p.Events {
		if t.Kind == model.Hold && t.Name == button {
			hs = append(hs, hold{EventID(e), Millis(t.For)})
		}
	}
	slices.SortFunc(hs, func(a, b hold) int { return cmp.Compare(a.time, b.time) })
	return hs
}

// Frame takes a frame of a button: the first of a press, or one that repeats
// it. It gives the events to post, in order. A release that is due by now
// comes before anything else; a repeat without a press of that button going
// on is ignored.
func (k *Keypad) Frame(button int, repeat bool, now uint32) []EventID {
	events := k.Tick(now)
	if button < 0 || button >= len(k.press) {
		return events
	}
	if !repeat {
		events = k.letGo(events)
		k.down, k.button, k.first, k.last, k.held = true, button, now, now, 0
		return append(events, k.press[button])
	}
	if !k.down || k.button != button {
		return events
	}
	k.last = now
	for hs := k.holds[button]; k.held < len(hs) && now-k.first >= hs[k.held].time; k.held++ {
		events = append(events, hs[k.held].event)
	}
	if r := k.repeat[button]; r >= 0 {
		events = append(events, r)
	}
	return events
}

// Tick gives the release that is due by now, if there is one. It is to be
// called every millisecond, before the machine's step.
func (k *Keypad) Tick(now uint32) []EventID {
	if k.down && now-k.last >= k.releaseAfter[k.button] {
		return k.letGo(nil)
	}
	return nil
}

// Down is the button that is pressed, as far as the frames tell.
func (k *Keypad) Down() (button int, ok bool) { return k.button, k.down }

// ReleaseDue is when the press going on counts as released unless another
// frame comes.
func (k *Keypad) ReleaseDue() (t uint32, ok bool) {
	if !k.down {
		return 0, false
	}
	return k.last + k.releaseAfter[k.button], true
}

// letGo ends the press going on, if there is one.
func (k *Keypad) letGo(events []EventID) []EventID {
	if !k.down {
		return events
	}
	k.down = false
	if r := k.release[k.button]; r >= 0 {
		events = append(events, r)
	}
	return events
}
