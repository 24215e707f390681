package model

import (
	"slices"
	"time"
)

// settle follows the change of one key in the keys that it decides on: a cue
// has an output or a track, a transition a target or silence, and what an
// output's kind does not have is gone. was is the design before the change.
func (d *Design) settle(was *Design, e Elem, key string) {
	switch e.Sort {
	case SortOutput:
		switch o := &d.Outputs[e.Index]; {
		case key == "kind" && o.Kind != was.Outputs[e.Index].Kind:
			o.change(o.Kind)
		case key == "chip":
			o.rewire()
		case key == "bus" && o.Bus != 0 && was.Outputs[e.Index].Bus == 0:
			o.Pin = 0
			o.Unstate("pin")
			if free := was.freeChannels(o.Bus); len(free) > 0 {
				o.Channel = free[0]
			}
			o.state("channel")
		case key == "channel" && o.Bus == 0 && o.States("channel"):
			o.Pin, o.Bus = 0, leastBus
			o.Unstate("pin")
			o.state("bus")
			if buses := was.Buses(); buses != nil {
				o.Bus = buses[0]
			}
		case key == "bus" && o.Bus == 0, key == "pin" && o.States("pin"):
			o.Bus, o.Channel = 0, 0
			o.Unstate("bus")
			o.Unstate("channel")
		}
	case SortCue:
		c, before := &d.Routines[e.Index].Cues[e.Part], &was.Routines[e.Index].Cues[e.Part]
		switch {
		case key == "track" && c.Track != "":
			c.Output, c.Action, c.Follow = "", Action{}, Follow{}
			c.keep(c.fieldsFor(nil))
			c.Unstate("output")
		case key == "output" && c.Output != "":
			c.Track = ""
			o := d.Output(c.Output)
			if b := was.Output(before.Output); b == nil || o == nil || b.Kind != o.Kind {
				c.Action, c.Follow = FirstAction(o), Follow{}
			}
			c.keep(c.fieldsFor(o))
			c.Unstate("track")
		case key == "follow" && c.Follow.Track == "":
			o := d.Output(c.Output)
			rest := restingAction(o)
			c.Over, c.Ease, c.Effect, c.Period, c.Follow = rest.Over, rest.Ease, rest.Effect, rest.Period, Follow{}
			c.keep(c.fieldsFor(o))
		case key == "follow" && before.Follow.Track == "":
			o := d.Output(c.Output)
			c.Over, c.Ease, c.Effect, c.Period = 0, "", "", 0
			c.Follow = Follow{Track: c.Follow.Track, Quiet: RestAction(o).To, Gain: 1, Attack: firstAttack, Release: firstRelease}
			c.keep(c.fieldsFor(o))
		}
	case SortPose:
		p := &d.States[e.Index].Pose[e.Part]
		p.Table = p.Table || key != bareKey(d.Output(p.Output))
	case SortDrift:
		dr, before := &d.States[e.Index].Drift[e.Part], &was.States[e.Index].Drift[e.Part]
		o, b := d.Output(dr.Output), was.Output(before.Output)
		if key == "output" && o != nil && (b == nil || b.Kind != o.Kind) {
			dr.Between = FirstDrift(o).Between
		}
	case SortTransition:
		t := &d.Transitions[e.Index]
		switch {
		case key == "to" && t.To != "":
			t.Do, t.Ignore = nil, false
			t.Unstate("do")
			t.Unstate("ignore")
		case key == "do" && len(t.Do) > 0:
			t.To, t.Ignore, t.Defer = "", false, false
			t.Unstate("to")
			t.Unstate("ignore")
			t.Unstate("defer")
		case key == "ignore" && t.Ignore:
			t.To, t.Do, t.Defer = "", nil, false
			t.Unstate("to")
			t.Unstate("do")
			t.Unstate("defer")
		}
	case SortOrder:
		or, before := &d.Transitions[e.Index].Do[e.Part], &was.Transitions[e.Index].Do[e.Part]
		o, b := d.Output(or.Output), was.Output(before.Output)
		if key == "output" && o != nil && (b == nil || b.Kind != o.Kind) {
			*or = FirstOrder(o)
		}
		or.yield(key)
	}
}

// keep takes away the keys that are not among the fields.
func (s *Source) keep(fields []field) {
	has := map[string]bool{}
	for _, f := range fields {
		has[f.key] = true
	}
	var gone []string
	for key := range s.Keys {
		if !has[key] {
			gone = append(gone, key)
		}
	}
	slices.Sort(gone)
	for _, key := range gone {
		s.Unstate(key)
	}
}

// change makes the output one of another kind: what both kinds have stays.
func (o *Output) change(kind OutputKind) {
	n := FirstOutput(kind)
	n.Source, n.Name, n.Pin, n.Note = o.Source, o.Name, o.Pin, o.Note
	if kind.of().expands {
		n.Bus, n.Channel = o.Bus, o.Channel
	}
	if stays := kind.of().stays; stays != nil {
		stays(&n, o)
	}
	*o = n
	o.keep(o.fields(nil))
}

// FirstOutput is an output of a kind as one begins with it; a maker puts in
// what was measured.
func FirstOutput(kind OutputKind) Output {
	o := Output{Kind: kind}
	for _, f := range o.fields(nil) {
		if f.key != "kind" {
			f.clear()
		}
	}
	if first := kind.of().first; first != nil {
		first(&o)
	}
	return o
}

// RestAction is what takes an output to rest: off, or a servo to its Rest; o is
// nil where the output is not known.
func RestAction(o *Output) Action {
	if o == nil {
		return Action{}
	}
	a := restingAction(o)
	a.To = o.Rest
	return a
}

// FirstAction is what a cue asks of an output as one begins with it; o is nil
// where the output is not known.
func FirstAction(o *Output) Action {
	a := RestAction(o)
	if first := o.ofKind().firstAction; first != nil && o != nil {
		first(&a, o)
	}
	return a
}

// FirstOrder is an order to an output as one begins with it.
func FirstOrder(o *Output) Order {
	or := Order{Output: o.Name, Action: FirstAction(o)}
	or.state("output")
	if first := o.ofKind().firstOrder; first != nil {
		first(&or.Action)
	}
	for _, f := range or.fieldsFor(o) {
		if f.need || !f.unset() {
			or.state(f.key)
		}
	}
	return or
}

// yield takes away the keys in whose place the key is.
func (or *Order) yield(key string) {
	for _, places := range [][]string{{"to", "by"}, {"set", "toggle"}, {"volume", "louder", "stop"}} {
		if !slices.Contains(places, key) || !or.States(key) {
			continue
		}
		for _, f := range or.fieldsFor(nil) {
			if f.key != key && slices.Contains(places, f.key) {
				f.clear()
				or.Unstate(f.key)
			}
		}
	}
}

// IdleAction is what the idle state of a first design asks of an output.
func IdleAction(o *Output) Action {
	a := FirstAction(o)
	if idle := o.ofKind().idleAction; idle != nil {
		idle(&a)
	}
	return a
}

// ShowAction is what the performance of a first design asks of an output.
func ShowAction(o *Output) Action {
	a := FirstAction(o)
	if show := o.ofKind().showAction; show != nil {
		show(&a, o)
	}
	return a
}

// Plays lists how a track can be started on an output, of a sound board's many tracks
// the first ones: none where no track can be, or none yet as it has no message.
func Plays(o *Output) []Play {
	switch k := o.ofKind(); {
	case !k.track:
		return nil
	case k == &sound:
		all := make([]Play, min(o.mostTracks(), 20))
		for i := range all {
			all[i] = Play{Output: o.Name, Track: 1 + i}
		}
		return all
	case !k.parts:
		return []Play{{Output: o.Name}}
	}
	all := make([]Play, len(o.Messages))
	for i := range o.Messages {
		all[i] = Play{Output: o.Name, Value: o.Messages[i].Name}
	}
	return all
}

// FreePlay is the first way to start a track on an output that no track has yet,
// else the first there is; ok is false where there is none.
func (d *Design) FreePlay(o *Output) (p Play, ok bool) {
	all := Plays(o)
	if len(all) == 0 {
		return Play{}, false
	}
	free := slices.IndexFunc(all, func(p Play) bool {
		return !slices.ContainsFunc(d.Tracks, func(t Track) bool { return t.Play == p || t.Silencer() == p })
	})
	return all[max(free, 0)], true
}

// FirstDrift is a drift of an output as one begins with it: half of its way.
func FirstDrift(o *Output) Drift {
	dr := Drift{
		Output: o.Name,
		Every:  Span{2 * time.Second, 6 * time.Second},
		Over:   Span{800 * time.Millisecond, 1500 * time.Millisecond},
	}
	if drift := o.ofKind().drift; drift != nil {
		dr.Between = drift.first(o)
	}
	return dr
}
