package machine

import (
	"fmt"
	"math"

	"propwright/model"
)

// A Rehearsal is a machine with somebody at its remote and its inputs, in
// virtual time. What happens in one millisecond reaches the machine in this
// order, as it does on the chip: a release that is due, a frame, an input.
type Rehearsal struct {
	Machine *Machine
	Keypad  *Keypad

	period  uint32 // from frame to frame, milliseconds, of a button whose code cannot be read
	kept    int    // the button that is kept down, -1: none
	frames  Frames // of that button
	frameAt uint32 // when its next frame comes, if it repeats
}

// Rehearse sets up a rehearsal of a machine at a remote. The frames of a
// button whose code cannot be read come every repeatPeriod milliseconds while
// it is down.
func Rehearse(m *Machine, repeatPeriod uint32) *Rehearsal {
	return &Rehearsal{Machine: m, Keypad: NewKeypad(m.p, repeatPeriod), period: max(repeatPeriod, 1), kept: -1}
}

// Play does the acts one after the other. Each but wait and let go takes a
// millisecond at least, so that no two acts meet in one step of the machine.
//
// A hold for a time keeps the button down until the first frame that comes
// after that time or at it; one that sends a single frame a press for the time
// itself, which lengthens nothing. A press or a hold of another button ends a hold.
func (r *Rehearsal) Play(acts ...Act) error {
	for _, a := range acts {
		if err := r.play(a); err != nil {
			return fmt.Errorf("%s: %w", a, err)
		}
	}
	return nil
}

func (r *Rehearsal) play(a Act) error {
	p := r.Machine.p
	switch a.Kind {
	case ActPress, ActHold, ActLetGo:
		b, ok := p.Button(a.Name)
		if !ok {
			return fmt.Errorf("there is no button %q; name one of the remote's buttons", a.Name)
		}
		if a.Kind == ActLetGo {
			if r.kept != b {
				return fmt.Errorf("%q is not held; write \"hold %s\" before", a.Name, a.Name)
			}
			r.kept = -1
			return nil
		}
		r.kept = -1
		r.step(func(now uint32) { r.post(r.Keypad.Frame(b, false, now)) })
		if a.Kind == ActPress {
			return nil
		}
		first := r.Machine.Now()
		r.kept, r.frames = b, p.Frames(b, r.period)
		r.frameAt = first + r.frames.First
		if hold := Millis(a.For); hold > 0 {
			if frame, ok := r.frames.From(hold); ok {
				hold = frame
			}
			r.to(first + hold)
			r.kept = -1
		}
	case ActRise, ActFall, ActEvent:
		t := model.Trigger{Kind: map[ActKind]model.TriggerKind{ActRise: model.Rise, ActFall: model.Fall, ActEvent: model.Posted}[a.Kind], Name: a.Name}
		e, used := p.Event(t)
		if sort := t.Kind.Of(); !used {
			if _, there := p.Design.Find(sort, a.Name); !there {
				return fmt.Errorf("there is no %s %q; name one of the %[1]ss", sort.Noun(), a.Name)
			}
		}
		r.step(func(uint32) {
			if used {
				r.Machine.Post(e)
			}
		})
	case ActWait:
		r.to(r.Machine.Now() + Millis(a.For))
	default:
		return fmt.Errorf("there is no such act")
	}
	return nil
}

// to lets time pass up to and with the step of time t.
func (r *Rehearsal) to(t uint32) {
	for r.Machine.Now() < t {
		next := uint64(math.MaxUint64)
		if r.repeats() {
			next = uint64(r.frameAt)
		}
		if due, ok := r.Keypad.ReleaseDue(); ok {
			next = min(next, uint64(due))
		}
		if next > uint64(t) {
			r.Machine.AdvanceTo(t)
			return
		}
		r.Machine.AdvanceTo(uint32(next) - 1)
		r.step(func(uint32) {})
	}
}

// repeats reports whether a button is down that sends frames again and again.
func (r *Rehearsal) repeats() bool { return r.kept >= 0 && r.frames.Period > 0 }

// step is the step of the next millisecond, in which act happens.
func (r *Rehearsal) step(act func(now uint32)) {
	now := r.Machine.Now() + 1
	r.post(r.Keypad.Tick(now))
	if r.repeats() && r.frameAt == now {
		r.post(r.Keypad.Frame(r.kept, true, now))
		r.frameAt += r.frames.Period
	}
	act(now)
	r.Machine.Advance(1)
}

func (r *Rehearsal) post(events []EventID) {
	for _, e := range events {
		r.Machine.Post(e)
	}
}
