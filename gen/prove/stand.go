package prove

import (
	"math/rand/v2"
	"slices"

	"propwright/gen/bench"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/ir"
	"propwright/model/machine"
)

// A stand runs the firmware of a design on a chip and the reference machine
// beside it. Whatever is done to the chip, through its pins, is done to the
// machine in the same millisecond.
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
	jitter  *rand.Rand
	coming  []arrival
	handled []handled // by the machine
}

// ms is in milliseconds since power-up.
type ms = uint32

// handled is what the machine has handled, and the configuration afterwards.
type handled struct {
	machine.Change
	after place
}

// arrival is what reaches the machine at a time that has not come yet.
type arrival struct {
	at    ms
	event func(now ms) []machine.EventID
}

// powerUp starts a program that is to be the firmware of a design with a seed, and the
// reference machine.
func powerUp(t bench.TB, program string, d *model.Design, o bench.Options) *stand {
	o.MCU = d.Prop.Board
	if b, _ := board.ByName(o.MCU); b.Portable {
		o.MCU = bench.Host
	}
	p := machine.Compile(d)
	s := &stand{t: t, design: d, program: p, jitter: rand.New(rand.NewPCG(1, 1))}
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
	s.machine = machine.New(p, d.Prop.Seed)
	s.machine.Observe = func(c machine.Change) { s.handled = append(s.handled, handled{c, s.place()}) }
	s.keypad = machine.NewKeypad(p, machine.RepeatPeriodNEC)
	return s
}

// place is where the machine is.
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

// now is the time both have come to.
func (s *stand) now() ms { return s.machine.Now() }

// to lets time pass.
func (s *stand) to(t ms) {
	s.chip.RunTo(uint64(t) * bench.Millisecond)
	for now := s.now() + 1; now <= t; now++ {
		s.post(s.keypad.Tick(now))
		for len(s.coming) > 0 && s.coming[0].at <= now {
			s.post(s.coming[0].event(now))
			s.coming = s.coming[1:]
		}
		s.machine.Advance(1)
	}
}

func (s *stand) post(events []machine.EventID) {
	for _, e := range events {
		s.machine.Post(e)
	}
}

// margin is how far, in milliseconds, an act keeps away from what the machine
// does by itself: the chip's clock and the bench's may round differently.
const margin = 4

// clear reports whether nothing happens by itself around a time.
func (s *stand) clear(t ms) bool {
	near := func(at ms, ok bool) bool { return ok && t < at+margin && at < t+margin }
	return !near(s.machine.Next()) && !near(s.keypad.ReleaseDue())
}

// settle lets time pass until nothing has happened or is about to happen by
// itself, so that both can be compared.
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
	end := s.chip.PlayIR(s.design.Remote.Pin, times, at)
	known := ms(end/bench.Millisecond) + 1
	if p, _ := c.Known(); p.Wave.Silence > 0 {
		known += ms(sketch.SilenceMS(p.Wave) - 1)
	}
	return known
}

// press presses a button and keeps it down until hold milliseconds have
// passed from its first frame to its last; 0: lets it go at once. The remote is at
// the edge of its range, so that some repeats are lost.
func (s *stand) press(button int, hold ms) {
	c := s.codes[button]
	s.to(s.now() + 15) // the line is quiet between two presses
	s.flipped = !s.flipped
	frame := ir.EncodePress(c, s.flipped)
	length := ms(0)
	for _, us := range frame {
		length += ms(us)
	}
	if p, _ := c.Known(); p.Wave.Silence > 0 {
		length += 1000 * ms(sketch.SilenceMS(p.Wave))
	}
	for !s.clear(s.now() + length/1000 + 1) {
		s.to(s.now() + 1)
	}
	at := s.chip.Now() + uint64(s.jitter.IntN(bench.Millisecond))
	first := s.frame(c, frame, at)
	last := first
	s.coming = append(s.coming, arrival{first, func(now ms) []machine.EventID { return s.keypad.Frame(button, false, now) }})
	lost := 0
	for period := uint64(c.RepeatPeriod().Microseconds()) * bench.Microsecond; last-first < hold; {
		at += period
		if !s.steady && lost < c.Bridged() && s.jitter.IntN(4) == 0 {
			lost++
			continue
		}
		lost = 0
		last = s.frame(c, ir.EncodeHeld(c, s.flipped), at)
		s.coming = append(s.coming, arrival{last, func(now ms) []machine.EventID { return s.keypad.Frame(button, true, now) }})
	}
	s.to(last + margin)
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
	trigger := model.Trigger{Kind: model.Fall, Name: in.Name}
	if s.active[input] {
		trigger.Kind = model.Rise
	}
	settled := s.now() + max(debounce, 1)
	s.coming = append(s.coming, arrival{settled, func(ms) []machine.EventID {
		if e, ok := s.program.Event(trigger); ok {
			return []machine.EventID{e}
		}
		return nil
	}})
	s.to(settled + margin)
}

// wait lets time pass until the machine has done something by itself; false
// where it never will.
func (s *stand) wait() bool {
	next, ok := s.machine.Next()
	if ok {
		s.to(next + margin)
	}
	return ok
}
