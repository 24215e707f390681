package motion

import (
	"fmt"
	"slices"
	"time"

	"propwright/model"
)

// A Draw is a source of chance: a number from lo..hi.
type Draw func(lo, hi float64) float64

// A Stage is a prop's outputs from power-up on. Times are since power-up, at
// which servos are at rest, spinners stand, and everything else is off.
//
// Tell it with Enter which states the prop goes through, in order; then ask
// what the outputs do, at any time and in any order, but see Enter. Asking
// for an output that the design does not have, or that is of another kind,
// gives the zero value.
type Stage struct {
	design *model.Design
	draw   Draw

	outputs map[string]*played
	stops   []model.Play // see Stops
	// sounding is until when what each play stops may sound.
	sounding map[model.Play]time.Duration
	heard    []Heard // see Heard
	scene    scene
	now      time.Duration // all that is due up to here has been performed
	entered  time.Duration // the scene's state
}

// played is what one output has done so far. Which fields are meaningful
// depends on its kind.
type played struct {
	*model.Output
	*behaviour
	path   path  // servo, spinner
	strip  strip // pixels
	sent   []Sent
	active []stretch // pulse, switch; in order of their starts
	asked  []Asked
}

// Asked is what a pose or a cue has asked of an output.
type Asked struct {
	At     time.Duration
	Action model.Action
	Voice  *Voice // that it is to follow; nil: none
}

// Heard is a track's sound, from its first moment to its last.
type Heard struct {
	Track    string
	From, To time.Duration
}

// Sent is a message that was sent.
type Sent struct {
	At      time.Duration
	Message string
	Bytes   []byte
}

// A stretch is a time from..to, without its end.
type stretch struct{ from, to time.Duration }

// New returns the stage of a design at power-up. The idle moves of drifts are
// drawn from draw; where it is nil nothing is drawn, and a drift is known only
// as the Range it stays in. A flicker is a Range in either case.
func New(d *model.Design, draw Draw) *Stage {
	d = d.Wired()
	s := &Stage{design: d, draw: draw, outputs: map[string]*played{}, stops: Stops(d), sounding: map[model.Play]time.Duration{}}
	for i := range d.Outputs {
		s.outputs[d.Outputs[i].Name] = newPlayed(&d.Outputs[i])
	}
	return s
}

// Alone is the stage of a prop that does nothing from power-up on but play a
// routine of the design, round after round where it loops.
func Alone(d *model.Design, r *model.Routine) *Stage {
	const state = "playing"
	alone := *d
	alone.States = []model.State{{Name: state, Kind: model.Performing, Plays: r.Name}}
	s := New(&alone, nil)
	if err := s.Enter(state, 0); err != nil {
		panic(err) // there is such a state, and nothing has been asked before
	}
	return s
}

// Enter tells the stage that the prop enters a state, perhaps the same one again.
// What is due up to and at that time by the state before is performed first,
// so a routine whose last cue is at its very end plays it before `done`.
//
// It is an error if the design has no such state or if the time is earlier
// than what has been told or asked before: the past is settled.
func (s *Stage) Enter(state string, at time.Duration) error {
	st := s.state(state)
	if st == nil {
		return fmt.Errorf("the design has no state %q", state)
	}
	if at < s.now {
		return fmt.Errorf("state %q is entered at %v, but the stage is at %v already", state, at, s.now)
	}
	s.advance(at)
	for _, p := range s.outputs {
		if p.quit != nil {
			p.quit(p, moment{at, true})
		}
	}
	for _, stop := range s.stops {
		if s.sounding[stop] > at {
			s.perform(Call{Output: stop.Output, Action: stop.Action()}, at)
			s.hush(stop, at)
		}
		s.sounding[stop] = 0
	}
	s.scene = newScene(s, st, at)
	s.entered = at
	for _, c := range Entry(s.design, st) {
		s.perform(c, at)
	}
	return nil
}

// Order tells the stage that a transition's orders are carried out. The error is as
// with Enter.
func (s *Stage) Order(orders []model.Order, at time.Duration) error {
	if at < s.now {
		return fmt.Errorf("an order is given at %v, but the stage is at %v already", at, s.now)
	}
	s.advance(at)
	for i := range orders {
		s.performAt(Call{Output: orders[i].Output, Action: orders[i].Action}, moment{at, true})
		s.scene.resume(orders[i].Output, at)
		for _, stop := range s.stops {
			if stops(s.design, stop, orders[i].Output, orders[i].Action) {
				s.hush(stop, at)
			}
		}
	}
	return nil
}

// hush ends the sounds that a stop silences.
func (s *Stage) hush(stop model.Play, at time.Duration) {
	for i := range s.heard {
		h := &s.heard[i]
		if h.To <= at {
			continue
		}
		if t := s.design.Track(h.Track); t.Silencer() == stop {
			h.From, h.To = min(h.From, at), min(h.To, at)
		}
	}
}

// Stops lists the ways in which the tracks are stopped that a design's routines play,
// each once.
func Stops(d *model.Design) []model.Play {
	if len(d.Tracks) == 0 {
		return nil
	}
	played := map[string]bool{}
	for i := range d.Routines {
		for j := range d.Routines[i].Cues {
			played[d.Routines[i].Cues[j].Track] = true
		}
	}
	var stops []model.Play
	for i := range d.Tracks {
		if !played[d.Tracks[i].Name] {
			continue
		}
		if stop := d.Tracks[i].Silencer(); d.Output(stop.Output) != nil && !slices.Contains(stops, stop) {
			stops = append(stops, stop)
		}
	}
	return stops
}

func (s *Stage) state(name string) *model.State {
	for i := range s.design.States {
		if s.design.States[i].Name == name {
			return &s.design.States[i]
		}
	}
	return nil
}

// perform makes an output do something from a time on.
func (s *Stage) perform(c Call, at time.Duration) { s.performAt(c, s.moment(at)) }

func (s *Stage) performAt(c Call, m moment) {
	p := s.outputs[c.Output]
	if p == nil {
		return
	}
	p.asked = append(p.asked, Asked{m.time, c.Action, c.Voice})
	switch {
	case c.Voice != nil && p.follow != nil:
		p.follow(p, c, m)
	case p.behaviour.perform != nil:
		p.behaviour.perform(p, c.Action, m)
	}
}

func (s *Stage) moment(at time.Duration) moment { return moment{at, at == s.entered} }
