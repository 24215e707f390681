package sketch

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"propwright/model"
	"propwright/model/board"
	"propwright/model/machine"
)

// place is a pin with its registers, or a channel of an expander.
type place struct {
	board.Pin
	Port, PinReg string
	Channel      *channel // nil: a pin
}

type pressEvent struct {
	Button int
	Event  string
	After  string
}

type input struct {
	Name       string
	P          place
	Active     string
	Rise, Fall string
	Debounce   uint32
}

// pin finds a pin and notes in the sketch's header what is wired to it.
func (b *builder) pin(pos model.Pos, n int, use board.Use, wired string) (place, bool) {
	if why := b.board.Cannot(n, use); why != "" {
		b.fault(pos, "see the board's pins", "%s", why)
		return place{}, false
	}
	p, _ := b.board.Pin(n)
	b.Wiring = append(b.Wiring, fmt.Sprintf("pin %2d: %s", n, wired))
	return place{p, fmt.Sprintf("PORT%c", p.Port), fmt.Sprintf("PIN%c", p.Port), nil}, true
}

func (b *builder) setup(format string, args ...any) {
	b.Setup = append(b.Setup, fmt.Sprintf(format, args...))
}

// receive sets up the receiver's pin.
func (b *builder) receive(pos model.Pos, pin int, note string) {
	if p, ok := b.pin(pos, pin, board.UseReceiver, remark("infrared receiver's output", note)); ok {
		if b.board.Portable {
			b.IR = receiver{Pin: strconv.Itoa(pin)}
			b.setup("pinMode(%d, INPUT_PULLUP); /* receiver */", pin)
			return
		}
		b.IR = newReceiver(p)
		b.setup("%s |= _BV(%d); /* pin %d: receiver, pulled up */", p.Port, p.Bit, p.Number)
	}
}

func (b *builder) remote() {
	r := &b.d.Remote
	b.receive(r.At("pin"), r.Pin, r.Note)
	for i := range r.Buttons {
		rb := &r.Buttons[i]
		code, err := r.Sends(rb)
		if err != nil {
			b.fault(rb.At("code"), "", "%v", err)
			continue
		}
		b.code(code, remark(rb.Name, code.String(), rb.Note))
	}
	b.join()
	b.presses()
}

// presses lists the hold, repeat and release events, for each button the shorter hold
// first and its release last.
func (b *builder) presses() {
	type timed struct {
		pressEvent
		after uint32
	}
	var all []timed
	for i, t := range b.p.Events {
		n, _ := b.p.Button(t.Name)
		e := timed{pressEvent{n, b.Events[i].Name, "PW_ON_RELEASE"}, math.MaxUint32}
		switch t.Kind {
		case model.Release:
		case model.Repeated:
			e.After, e.after = "PW_ON_REPEAT", math.MaxUint32-1
			b.HasRepeats = true
		case model.Hold:
			e.after = machine.Millis(t.For)
			e.After = fmt.Sprintf("%dU", e.after)
			b.HasHolds = true
		default:
			continue
		}
		all = append(all, e)
	}
	slices.SortStableFunc(all, func(x, y timed) int {
		if x.Button != y.Button {
			return x.Button - y.Button
		}
		return int(int64(x.after) - int64(y.after))
	})
	for _, e := range all {
		b.Presses = append(b.Presses, e.pressEvent)
	}
}

func (b *builder) inputs() {
	for i := range b.d.Inputs {
		in := &b.d.Inputs[i]
		x := input{
			Name: in.Name, Active: "high", Rise: b.inputEvent(model.Rise, in), Fall: b.inputEvent(model.Fall, in),
			Debounce: machine.Millis(in.Debounce),
		}
		if in.Pull == model.PullUp {
			x.Active = "low"
		}
		p, ok := b.pin(in.At("pin"), in.Pin, board.UseInput, remark(in.Name+", input, active "+x.Active, in.Note))
		switch {
		case !ok:
		case b.board.Portable && in.Pull == model.PullUp:
			b.setup("pinMode(%d, INPUT_PULLUP); /* %s */", p.Number, in.Name)
		case b.board.Portable:
			b.setup("pinMode(%d, INPUT); /* %s */", p.Number, in.Name)
		case in.Pull == model.PullUp:
			b.setup("%s |= _BV(%d); /* pin %d: %s, pulled up */", p.Port, p.Bit, p.Number, in.Name)
		}
		x.P = p
		if x.Rise != x.Fall { // else nothing comes of it
			b.Inputs = append(b.Inputs, x)
		}
	}
}

func (b *builder) inputEvent(kind model.TriggerKind, in *model.Input) string {
	if e, ok := b.p.Event(model.Trigger{Kind: kind, Name: in.Name}); ok {
		return b.Events[e].Name
	}
	return "PW_EVENT_DONE"
}
