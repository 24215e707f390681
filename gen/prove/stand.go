package prove

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"propwright/gen/bench"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/ir"
	"propwright/model/machine"
	"propwright/model/motion"
)

// A stand runs the firmware of a design on a chip beside the reference machine.
// Every act on the chip's pins is done to the machine in the same millisecond.
type stand struct {
	t       bench.TB
	design  *model.Design
	program *machine.Program
	chip    *bench.Chip
	machine *machine.Machine
	keypad  *machine.Keypad

	codes   []ir.Code
	flipped bool   // the toggle bit of the last press
	steady  bool   // frames are played exactly
	active  []bool // each input's
	posts   posts
	jitter  *rand.Rand
	coming  []arrival
	handled []handled // by the machine

	due ms   // when something would have happened by itself, were nothing posted
	tie bool // a frame came so near the end of a hold's time that the chip may take it for either

	want    *motion.Stage             // what the outputs do
	courses map[string][]motion.Range // see us
	done    []done
}

// done is an act, and the time at which the machine learned of it.
type done struct {
	machine.Act
	at ms
}

// ms is in milliseconds since power-up.
type ms = uint32

// handled is a change of the machine, and the configuration after it.
type handled struct {
	machine.Change
	after place
	due   ms // when something would have happened by itself
}

// An arrival will reach the machine at a later time.
type arrival struct {
	at    ms
	event func(now ms) []machine.EventID
}

// powerUp starts a program and the reference machine of a design.
func powerUp(t bench.TB, program string, d *model.Design, o bench.Options) *stand {
	o.MCU = d.Prop.Board
	if b, _ := board.ByName(o.MCU); b.Portable {
		o.MCU = bench.Host
	}
	s := reference(t, d)
	for i := range d.Remote.Buttons {
		c, err := d.Remote.Sends(&d.Remote.Buttons[i])
		if err != nil {
			t.Fatal(err)
		}
		s.codes = append(s.codes, c)
	}
	s.chip = bench.Start(t, program, o)
	s.chip.SetPin(d.Remote.Pin, bench.High, 0)
	s.active = make([]bool, len(d.Inputs))
	for i := range d.Inputs {
		s.drive(i, 0)
	}
	return s
}

// reference returns a stand without a chip.
func reference(t bench.TB, d *model.Design) *stand {
	p := machine.Compile(d)
	s := &stand{t: t, design: d, program: p, jitter: rand.New(rand.NewPCG(1, 1)), courses: map[string][]motion.Range{}}
	s.machine = machine.New(p, d.Prop.Seed)
	s.machine.Observe = s.observe
	s.want = motion.New(d, nil)
	s.enter(p.Start, 0)
	s.keypad = machine.NewKeypad(p, machine.RepeatPeriodNEC)
	return s
}

func (s *stand) observe(c machine.Change) {
	s.handled = append(s.handled, handled{c, s.place(), s.due})
	at := time.Duration(c.At) * time.Millisecond
	switch c.Outcome {
	case machine.Entered:
		s.enter(c.To, at)
	case machine.Acted:
		if err := s.want.Order(s.design.Transitions[c.Move.Transition].Do, at); err != nil {
			panic(err) // the stage is asked for what is past
		}
	}
}

func (s *stand) enter(state machine.StateID, at time.Duration) {
	if err := s.want.Enter(s.program.Name(state), at); err != nil {
		panic(err) // it is the program's own, and the stage is asked for what is past
	}
}

// us returns how wide an output's pulses are to be, in whole milliseconds that are past.
func (s *stand) us(o *model.Output) func(time.Duration) motion.Range {
	return func(t time.Duration) motion.Range {
		all := s.courses[o.Name]
		for n := time.Duration(len(all)); n <= t/time.Millisecond; n++ {
			all = append(all, s.want.Us(o.Name, n*time.Millisecond))
		}
		s.courses[o.Name] = all
		return all[t/time.Millisecond]
	}
}

// place returns where the machine is.
func (s *stand) place() place {
	at := place{s.machine.State(), s.machine.Back(), nowhere}
	if m := s.machine.Deferred(); m != nil {
		at.deferred = m.Target
	}
	return at
}

// drive puts an input's pin to its level.
func (s *stand) drive(input int, at uint64) {
	in := &s.design.Inputs[input]
	s.chip.SetPin(in.Pin, s.active[input] == (in.Pull != model.PullUp), at)
}

// now returns the time that chip and machine have reached.
func (s *stand) now() ms { return s.machine.Now() }

// to lets time pass.
func (s *stand) to(t ms) {
	s.chip.RunTo(uint64(t) * bench.Millisecond)
	for s.now() < t {
		s.tick()
	}
}

// tick lets a millisecond of the machine pass.
func (s *stand) tick() {
	now := s.now() + 1
	s.due = math.MaxUint32
	if next, ok := s.machine.Next(); ok {
		s.due = next
	}
	s.post(s.keypad.Tick(now))
	for len(s.coming) > 0 && s.coming[0].at <= now {
		s.post(s.coming[0].event(now))
		s.coming = s.coming[1:]
	}
	s.machine.Advance(1)
}

func (s *stand) post(events []machine.EventID) {
	for _, e := range events {
		s.machine.Post(e)
	}
}

// near is how many milliseconds the chip and the machine may differ in the time of a
// change. Two changes that are no further apart may come in either order.
const near = 2

// lag is how many milliseconds later than another a board begins. The core of the
// ATmega32U4 waits as long for its USB port (Arduino AVR core, USBCore.cpp,
// USB_ClockEnable).
var lag = map[string]ms{"atmega32u4": 1}

// look is how many milliseconds after a change on the chip it may be seen.
const look = 0.1

// margin is the distance in milliseconds between an act and anything that the machine
// does by itself: the chip's clock and the bench's may round differently.
const margin = 4

// clear reports whether nothing happens by itself around a time.
func (s *stand) clear(t ms) bool {
	soon := func(at ms, ok bool) bool { return ok && t < at+margin && at < t+margin }
	return !soon(s.machine.Next()) && !soon(s.keypad.ReleaseDue())
}

// settle lets time pass until nothing has just happened or is about to happen by
// itself, so that chip and machine can be compared.
func (s *stand) settle() {
	recent := func() bool { return len(s.handled) > 0 && s.now() < s.handled[len(s.handled)-1].At+margin }
	for recent() || !s.clear(s.now()) {
		s.to(s.now() + 1)
	}
}

// frame plays one frame of a code, every time of it off by up to 60 µs, and
// returns when the machine is to learn of it.
func (s *stand) frame(c ir.Code, times []int, at uint64) ms {
	times = slices.Clone(times)
	for i := range times {
		if !s.steady {
			times[i] += s.jitter.IntN(121) - 60
		}
	}
	return known(c, s.chip.PlayIR(s.design.Remote.Pin, times, at))
}

// known returns when the machine is to learn of a code's frame that ends in a cycle.
func known(c ir.Code, end uint64) ms {
	at := ms(end/bench.Millisecond) + 1
	if p, _ := c.Known(); p.Wave.Silence > 0 {
		at += ms(sketch.SilenceMS(p.Wave) - 1)
	}
	return at
}

// airtime returns how many cycles a frame takes.
func airtime(frame []int) (cycles uint64) {
	for _, us := range frame {
		cycles += uint64(us) * bench.Microsecond
	}
	return cycles
}

// press presses a button for hold milliseconds from its first frame to its last, or
// briefly for 0. The remote is at the edge of its range, so that some repeats are lost.
func (s *stand) press(button int, hold ms) {
	c := s.codes[button]
	s.to(s.now() + 15) // the line is quiet between two presses
	s.flipped = !s.flipped
	frame := ir.EncodePress(c, s.flipped)
	for !s.clear(known(c, s.chip.Now()+airtime(frame))) {
		s.to(s.now() + 1)
	}
	at := s.chip.Now() + uint64(s.jitter.IntN(bench.Millisecond))
	first := s.frame(c, frame, at)
	last := first
	s.coming = append(s.coming, arrival{first, func(now ms) []machine.EventID { return s.keypad.Frame(button, false, now) }})
	act := machine.Act{Kind: machine.ActPress, Name: s.design.Remote.Buttons[button].Name}
	if hold > 0 {
		act.Kind, act.For = machine.ActHold, time.Duration(hold)*time.Millisecond
	}
	s.done = append(s.done, done{act, first})
	lost := 0
	for period := uint64(c.RepeatPeriod().Microseconds()) * bench.Microsecond; last-first < hold; {
		at += period
		if !s.steady && lost < c.Bridged() && s.jitter.IntN(4) == 0 {
			lost++
			continue
		}
		lost = 0
		frame := ir.EncodeHeld(c, s.flipped)
		if s.holdEnds(act.Name, known(c, at+airtime(frame))-first) {
			at += (2*near + 1) * bench.Millisecond // a remote's clock is not exact
		}
		last = s.frame(c, frame, at)
		s.tie = s.tie || s.holdEnds(act.Name, last-first)
		s.coming = append(s.coming, arrival{last, func(now ms) []machine.EventID { return s.keypad.Frame(button, true, now) }})
	}
	s.to(last + margin)
}

// holdEnds reports whether a button is held as long as for a hold, or a little less.
func (s *stand) holdEnds(button string, held ms) bool {
	return slices.ContainsFunc(s.program.Events, func(t model.Trigger) bool {
		return t.Kind == model.Hold && t.Name == button && held+near-machine.Millis(t.For) <= 2*near
	})
}

// toggle switches an input on or off. The machine learns of it when its
// contacts have been at rest for the input's debounce.
func (s *stand) toggle(input int) {
	in := &s.design.Inputs[input]
	debounce := machine.Millis(in.Debounce)
	for !s.clear(s.now() + debounce + 1) {
		s.to(s.now() + 1)
	}
	s.active[input] = !s.active[input]
	s.drive(input, s.chip.Now())
	trigger, act := model.Trigger{Kind: model.Fall, Name: in.Name}, machine.Act{Kind: machine.ActFall, Name: in.Name}
	if s.active[input] {
		trigger.Kind, act.Kind = model.Rise, machine.ActRise
	}
	settled := s.now() + max(debounce, 1)
	s.done = append(s.done, done{act, settled})
	s.coming = append(s.coming, arrival{settled, func(ms) []machine.EventID {
		if e, ok := s.program.Event(trigger); ok {
			return []machine.EventID{e}
		}
		return nil
	}})
	s.to(settled + margin)
}

// run does an errand. A press is let go before the next one begins.
func (s *stand) run(e errand) {
	switch {
	case e.button >= 0:
		if s.codes[e.button].Repeats() == ir.RepeatFrame {
			s.to(s.now() + 250) // or the same button would be taken for still held
		}
		s.press(e.button, e.hold)
		if due, ok := s.keypad.ReleaseDue(); ok && s.releases(e.button) {
			s.to(due + margin)
		}
	case e.input >= len(s.design.Inputs):
		s.postEvent(e.input - len(s.design.Inputs))
	case e.input >= 0:
		s.toggle(e.input)
	default:
		end, from, seen := s.now()+e.hold, s.place(), len(s.handled)
		for {
			next, ok := s.machine.Next()
			if !ok || e.hold > 0 && next > end {
				next = max(end, s.now())
			}
			s.to(next + margin)
			if e.hold == 0 || s.now() >= end || s.place() != from || len(s.handled) > seen && s.handled[len(s.handled)-1].Outcome == machine.Entered {
				break
			}
		}
	}
}

func (s *stand) releases(button int) bool {
	_, ok := s.program.Event(model.Trigger{Kind: model.Release, Name: s.design.Remote.Buttons[button].Name})
	return ok
}

// inputs tells which inputs are active, a bit each.
func (s *stand) inputs() uint32 {
	var bits uint32
	for i, active := range s.active {
		if active {
			bits |= 1 << i
		}
	}
	return bits
}

// changes compares the chip's changes of pw_state with the machine's, and returns the
// greatest difference of their times in milliseconds. More than near is an error, where
// the board begins in time.
func (s *stand) changes() (greatest float64, err error) {
	type change struct {
		to machine.StateID
		at float64
	}
	var want, got []change
	state := s.program.Start
	for _, c := range s.handled {
		if c.To != state { // a state entered anew does not show in pw_state
			state = c.To
			want = append(want, change{c.To, float64(c.At)})
		}
	}
	for _, c := range s.chip.Watched("pw_state") {
		if at := float64(c.At) / bench.Millisecond; at > 5 { // the start state shows at once
			got = append(got, change{machine.StateID(c.Value), at})
		}
	}
	tell := func(all []change, i int) string {
		if i < len(all) {
			return fmt.Sprintf("enters %s %.3f s after power-up", s.name(all[i].to), all[i].at/1000)
		}
		if i == 0 {
			return "stays in " + s.name(s.program.Start)
		}
		return "stays in " + s.name(all[i-1].to)
	}
	shown := s.program.Start
	for i, n := 0, 0; i < len(want) || n < len(got); i++ {
		off := math.Inf(1)
		if i < len(want) && n < len(got) && want[i].to == got[n].to {
			off = math.Abs(got[n].at - want[i].at)
		}
		if off <= near+look+float64(lag[s.design.Prop.Board]) {
			greatest = max(greatest, off)
			shown = got[n].to
			n++
			continue
		}
		if i+1 >= len(want) || want[i+1].at > want[i].at {
			return greatest, fmt.Errorf("the firmware %s; the design %s", tell(got, n), tell(want, i))
		}
		if want[i+1].to == shown { // what is left at once need not show, nor then that this is entered
			i++
		}
	}
	return greatest, nil
}

// name returns the name of a state, or its number if there is no such state.
func (s *stand) name(state machine.StateID) string {
	if int(state) >= len(s.design.States) {
		return fmt.Sprintf("state %d, which there is not", state)
	}
	return s.program.Name(state)
}
