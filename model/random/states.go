package random

import (
	"propwright/model"

	"pgregory.net/rapid"
)

func (g *drawer) routines() {
	d := g.design
	var cued []*model.Output
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Chip != model.Triggers { // of which only tracks can be asked
			cued = append(cued, o)
		}
	}
	for _, name := range g.names(g.size.Routines.draw(g.T, "routines"), "routine") {
		r := model.Routine{Name: name, Loop: g.flip("loop"), Note: g.note()}
		if len(cued)+len(d.Tracks) > 0 {
			for range rapid.IntRange(0, 4).Draw(g.T, "cues") {
				c := model.Cue{At: g.ms(0, 3000, "at"), Note: g.note()}
				n := rapid.IntRange(0, len(cued)+len(d.Tracks)-1).Draw(g.T, "output or track")
				if n < len(cued) {
					c.Output = cued[n].Name
					c.Action = g.action(cued[n])
					if cued[n].Kind.Follows() && len(d.Tracks) > 0 && g.flip("follows") {
						g.follow(&c, cued[n])
					}
				} else {
					c.Track = d.Tracks[n-len(cued)].Name
				}
				if c.Follow.Track != "" && g.flip("plays what is followed") {
					r.Cues = append(r.Cues, model.Cue{At: max(0, c.At-g.ms(0, 500, "before")), Track: c.Follow.Track})
				}
				r.Cues = append(r.Cues, c)
			}
		}
		if end := d.RoutineLength(&r); end == 0 && r.Loop || g.flip("length is said") {
			r.Length = end + g.ms(1, 2000, "beyond the last cue")
		}
		d.Routines = append(d.Routines, r)
	}
}

// follow has a cue follow a track.
func (g *drawer) follow(c *model.Cue, o *model.Output) {
	a := c.Action
	c.Action = model.Action{To: a.To, Colour: a.Colour, Colour2: a.Colour2, First: a.First, Last: a.Last}
	c.Follow = model.Follow{
		Track:   rapid.SampledFrom(g.design.Tracks).Draw(g.T, "followed").Name,
		Gain:    float64(rapid.IntRange(1, 60).Draw(g.T, "gain")) / 4,
		Attack:  g.ms(0, 200, "attack"),
		Release: g.ms(0, 400, "release"),
	}
	if o.Kind == model.KindServo {
		c.Follow.Quiet = g.within(o, "quiet")
	}
}

func (g *drawer) states() {
	d := g.design
	dormant := 0
	for i, name := range g.names(max(1, g.size.States.draw(g.T, "states")), "state") {
		s := model.State{Name: name, Kind: model.Dormant, Label: g.line("label"), Note: g.note()}
		if i > 0 {
			s.Kind = rapid.SampledFrom(model.StateKinds).Draw(g.T, "kind")
		}
		if s.Kind == model.Dormant {
			dormant++
		}
		if len(d.Routines) > 0 && g.flip("plays") {
			s.Plays = rapid.SampledFrom(d.Routines).Draw(g.T, "routine").Name
		}
		for i := range d.Outputs {
			g.idle(&s, &d.Outputs[i])
		}
		s.Over = g.ms(0, 2000, "over")
		d.States = append(d.States, s)
	}
	d.States[0].Start = dormant > 1 || g.flip("start is said")
}

// idle lets a state pose or move an output, or neither.
func (g *drawer) idle(s *model.State, o *model.Output) {
	switch rapid.SampledFrom([]string{"leave", "pose", "table", "drift"}).Draw(g.T, "idle") {
	case "pose":
		if o.Kind.Poses() {
			s.Pose = append(s.Pose, model.Pose{Output: o.Name, Action: g.bare(o)})
		}
	case "table":
		if o.Kind.Poses() {
			s.Pose = append(s.Pose, model.Pose{Output: o.Name, Action: g.action(o), Table: true})
		}
	case "drift":
		drift := drawings[o.Kind].drift
		if drift == nil {
			return
		}
		a, b := drift(g, o, "between"), drift(g, o, "and")
		s.Drift = append(s.Drift, model.Drift{
			Output:  o.Name,
			Between: [2]float64{min(a, b), max(a, b)},
			Every:   g.span(1, 6000, "every"),
			Over:    g.span(0, 3000, "over"),
		})
	}
}

func (g *drawer) transitions() {
	d := g.design
	taken := map[candidate]bool{}
	for range g.size.Transitions.draw(g.T, "transitions") {
		tr := model.Transition{From: g.froms(), Note: g.note()}
		performing := true
		for _, f := range tr.From {
			performing = performing && g.performing(f)
		}
		orders := rapid.IntRange(0, 3).Draw(g.T, "orders if 0") == 0
		if orders {
			tr.Do = g.orders()
		}
		seen := map[event]bool{}
		for range rapid.IntRange(1, 2).Draw(g.T, "triggers") {
			on := g.trigger(len(tr.Do) > 0)
			if seen[eventOf(on)] || !g.size.Ambiguous && g.clashes(taken, tr.From, on) {
				continue
			}
			seen[eventOf(on)] = true
			tr.On = append(tr.On, on)
		}
		if len(tr.On) == 0 {
			continue
		}
		done := false
		for _, on := range tr.On {
			done = done || on.Kind == model.Done
			for _, c := range g.candidates(tr.From, on) {
				taken[c] = true
			}
		}
		switch {
		case len(tr.Do) > 0:
		case rapid.IntRange(0, 5).Draw(g.T, "ignore if 0") == 0:
			tr.Ignore = true
		case performing && g.flip("back"):
			tr.To = model.Back
		default:
			tr.To = g.target()
		}
		tr.Defer = tr.To != "" && performing && !done && g.flip("defer")
		d.Transitions = append(d.Transitions, tr)
	}
}

// orders draws what a transition asks of outputs: nothing where there is none that
// takes orders.
func (g *drawer) orders() (orders []model.Order) {
	var able []*model.Output
	for i := range g.design.Outputs {
		if o := &g.design.Outputs[i]; o.TakesOrders() {
			able = append(able, o)
		}
	}
	if len(able) == 0 {
		return nil
	}
	for range rapid.IntRange(1, 2).Draw(g.T, "orders") {
		o := rapid.SampledFrom(able).Draw(g.T, "ordered")
		or := model.Order{Output: o.Name, Action: g.action(o)}
		if order := drawings[o.Kind].order; order != nil {
			order(g, o, &or.Action)
		}
		orders = append(orders, or)
	}
	return orders
}

// target draws where a transition leads.
func (g *drawer) target() string {
	states := g.design.States
	state := func() string { return rapid.SampledFrom(states).Draw(g.T, "to").Name }
	// Each choice makes several times as many configurations.
	const most = 2
	if len(states) == 1 || g.choices == most || rapid.IntRange(0, 4).Draw(g.T, "a choice if 0") > 0 {
		return state()
	}
	g.choices++
	names := make([]string, len(states))
	for i := range states {
		names[i] = states[i].Name
	}
	c := model.Choice{InTurn: g.flip("in turn")}
	c.States = rapid.Permutation(names).Draw(g.T, "choice")[:rapid.IntRange(2, min(3, len(names))).Draw(g.T, "of")]
	if c.InTurn && g.flip("once more") {
		c.States = append(c.States, state())
	}
	return c.String()
}

// froms draws one or two different sources.
func (g *drawer) froms() []model.From {
	from := rapid.Custom(func(t *rapid.T) string {
		switch rapid.IntRange(0, 4).Draw(t, "from") {
		case 0:
			return "*"
		case 1:
			return "*" + string(rapid.SampledFrom(model.StateKinds).Draw(t, "any of kind"))
		default:
			return rapid.SampledFrom(g.design.States).Draw(t, "named").Name
		}
	})
	var fs []model.From
	for _, s := range rapid.SliceOfNDistinct(from, 1, 2, rapid.ID[string]).Draw(g.T, "sources") {
		if s[0] == '*' {
			fs = append(fs, model.From{State: model.Any, Kind: model.StateKind(s[1:])})
		} else {
			fs = append(fs, model.From{State: s})
		}
	}
	return fs
}

// performing reports whether f matches performing states only.
func (g *drawer) performing(f model.From) bool {
	if f.State == model.Any {
		return f.Kind == model.Performing
	}
	for _, s := range g.design.States {
		if s.Name == f.State {
			return s.Kind == model.Performing
		}
	}
	return false
}

// trigger draws what a transition waits for, with or without orders.
func (g *drawer) trigger(orders bool) model.Trigger {
	d := g.design
	kinds := []model.TriggerKind{model.Press, model.Press, model.Hold, model.Release, model.After, model.After, model.Done}
	inputs := d.Names(model.SortInput)
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.BusyPin > 0 {
			inputs = append(inputs, o.Name)
		}
	}
	if len(inputs) > 0 {
		kinds = append(kinds, model.Rise, model.Fall)
	}
	if len(d.Events) > 0 {
		kinds = append(kinds, model.Posted)
	}
	if orders {
		kinds = append(kinds, model.Repeated, model.Repeated)
	}
	on := model.Trigger{Kind: rapid.SampledFrom(kinds).Draw(g.T, "on")}
	switch on.Kind.Of() {
	case model.SortButton:
		on.Name = rapid.SampledFrom(d.Remote.Buttons).Draw(g.T, "button").Name
	case model.SortInput:
		on.Name = rapid.SampledFrom(inputs).Draw(g.T, "input")
	case model.SortEvent:
		on.Name = rapid.SampledFrom(d.Events).Draw(g.T, "event").Name
	}
	switch on.Kind {
	case model.After:
		on.After = g.span(0, 5000, "after")
	case model.Hold:
		on.For = g.ms(1, 3000, "for")
	}
	return on
}

// candidate is one state's transition for one event, with its rank.
type candidate struct {
	state string
	rank  int
	event event
}

// event is a trigger without its place in a file.
type event struct {
	kind  model.TriggerKind
	name  string
	hold  int64
	after model.Span
}

func eventOf(t model.Trigger) event { return event{t.Kind, t.Name, int64(t.For), t.After} }

// candidates lists where a transition would be a candidate.
func (g *drawer) candidates(from []model.From, on model.Trigger) []candidate {
	var cs []candidate
	for _, s := range g.design.States {
		for _, f := range from {
			c := candidate{state: s.Name, event: eventOf(on)}
			switch {
			case f.State == s.Name:
				c.rank = 2
			case f.State == model.Any && f.Kind == s.Kind:
				c.rank = 1
			case f.State == model.Any && f.Kind == "":
				c.rank = 0
			default:
				continue
			}
			cs = append(cs, c)
		}
	}
	return cs
}

func (g *drawer) clashes(taken map[candidate]bool, from []model.From, on model.Trigger) bool {
	for _, c := range g.candidates(from, on) {
		if taken[c] {
			return true
		}
	}
	return false
}
