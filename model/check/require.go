package check

import (
	"fmt"
	"iter"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/timed"
)

var requireRules = []*Rule{
	{"requirement", "a requirement of the design is broken", Error, requirements, explores},
}

func requirements(p *Pass) {
	for i := range p.Design.Requires {
		at := &p.Design.Requires[i]
		q, err := model.ParseRequirement(at.That)
		if err != nil {
			e := err.(*model.ValueError)
			p.Report(Finding{Pos: at.At("that"), Message: e.Wrong, Advice: e.Advice})
			continue
		}
		r := &required{Pass: p, Requirement: q, pos: at.At("that")}
		if !r.known() {
			continue
		}
		switch q.Form {
		case model.Reachable:
			r.reachable()
		case model.EndsIn:
			r.endsIn()
		default:
			r.inTime()
		}
	}
}

// required is one requirement.
type required struct {
	*Pass
	model.Requirement
	pos model.Pos
}

// broken reports that the requirement is broken; the finding's message says how.
func (r *required) broken(f Finding) {
	f.Pos = r.pos
	f.Message = fmt.Sprintf("%q is broken: %s", r.Requirement, f.Message)
	if f.Advice == "" {
		f.Advice = "change what leads there, or the requirement"
	}
	r.Report(f)
}

// known reports whether everything that the requirement names exists. If not, it
// reports a finding.
func (r *required) known() bool {
	lacks := func(what, name string) bool {
		r.broken(Finding{Message: fmt.Sprintf("there is no %s %q", what, name), Advice: "name one that there is"})
		return false
	}
	for _, s := range []string{r.From, r.State} {
		if _, ok := r.Program.State(s); s != "" && !ok {
			return lacks("state", s)
		}
	}
	buttons := r.Press
	if r.After.Kind.Of() == model.SortButton {
		buttons = []string{r.After.Name}
	}
	for _, b := range buttons {
		if _, ok := r.Program.Button(b); !ok {
			return lacks("button", b)
		}
	}
	inTime := r.Form == model.Never || r.Form == model.Within
	if inTime && r.After.Kind == model.Repeated { // a repeat can only give orders
		r.broken(Finding{Message: fmt.Sprintf("%q leads to no state, so nothing comes of it", r.After), Advice: "name the press or the hold that it follows"})
		return false
	}
	if !inTime || r.waited() {
		return true
	}
	r.broken(Finding{Message: fmt.Sprintf("no transition waits for %q, so nothing comes of it", r.After), Advice: "name an event that a transition waits for"})
	return false
}

// waited reports whether the requirement's event can occur: presses and done
// always can, others if a transition waits for them.
func (r *required) waited() bool {
	switch r.After.Kind {
	case model.Press, model.Done:
		return true
	case model.After:
		for i := range r.Design.States {
			for _, t := range r.Program.Timers(machine.StateID(i)) {
				if t.Lo == machine.Millis(r.After.After.Lo) && t.Hi == machine.Millis(r.After.After.Hi) {
					return true
				}
			}
		}
		return false
	}
	_, ok := r.Program.Event(r.After)
	return ok
}

func (r *required) reachable() {
	s, _ := r.Program.State(r.State)
	if !r.explored.Reaches(s) {
		r.broken(Finding{
			State: r.State, Message: "nothing leads to it",
			Advice: fmt.Sprintf("add a transition to %q from a state that can be reached", r.State),
		})
	}
}

// goal returns the states that the requirement asks for. It is nil for rest, which
// `dormant within` asks for.
func (r *required) goal() func(machine.StateID) bool {
	switch {
	case r.Form == model.Within && r.Kind == model.Dormant:
		return nil
	case r.Kind != "":
		return func(s machine.StateID) bool { return r.Program.Kind(s) == r.Kind }
	}
	return func(s machine.StateID) bool { return r.Program.Name(s) == r.State }
}

// delays returns the responses to the requirement's event, each with its worst time.
func (r *required) delays() (*timed.Delays, iter.Seq[timed.Response]) {
	d := r.explored.Delays(r.After, r.goal(), r.after)
	if r.Form == model.Never {
		return d, d.Soonest
	}
	return d, d.Latest
}

// breach returns the first response that breaks the requirement, or nil.
func (r *required) breach(limit int64) (found *timed.Response, known bool) {
	d, responses := r.delays()
	for found := range responses {
		if r.Form == model.Never && found.Time <= limit || r.Form == model.Within && found.Time > limit {
			return &found, true
		}
	}
	return nil, !d.Full()
}

// inTime checks `never … within` and `… within`.
func (r *required) inTime() {
	limit := int64(machine.Millis(r.Time))
	found, known := r.breach(limit)
	if !known {
		r.Report(Finding{
			Pos:     r.pos,
			Message: fmt.Sprintf("%q cannot be checked: more than %d situations can come of %q", r.Requirement, r.after, r.After),
			Advice:  "use fewer timers, or longer ones, in the states that follow the event, or do without the requirement",
		})
		return
	}
	if found == nil {
		return
	}
	what := fmt.Sprintf("%q", r.State)
	if r.Kind != "" {
		what = fmt.Sprintf("a state that is %s", r.Kind)
	}
	after := model.SayDuration(ms(found.Time))
	follows := ""
	switch {
	case found.AtOnce:
		follows = fmt.Sprintf("is followed by %s at once", what)
	case r.Form == model.Never && found.Time == 0:
		follows = fmt.Sprintf("can be followed by %s at once", what)
	case r.Form == model.Never:
		follows = fmt.Sprintf("can be followed by %s after %s", what, after)
	case found.Time < timed.Never:
		follows = fmt.Sprintf("can take %s to lead to %s", after, what)
	default:
		follows = fmt.Sprintf("need not lead to %s at all", what)
	}
	f := Finding{Message: fmt.Sprintf("%q, in state %q, %s", r.After, r.Program.Name(found.State), follows)}
	if w, ok := r.shows(&f, r.explored.State(found.Configuration), found.Run(limit)); ok {
		if end := w.Event + limit + 1; r.Form == model.Within && w.End < end {
			// Nothing happens any more until the time is over.
			f.Witness = append(f.Witness, machine.Act{Kind: machine.ActWait, For: ms(end - w.End)})
		}
	}
	r.broken(f)
}

// endsIn checks `from … press … ends in`.
func (r *required) endsIn() {
	for _, run := range r.presses() {
		if end := r.Program.Name(run.State()); end != r.State {
			f := Finding{Message: fmt.Sprintf("it can end in %q", end)}
			from, _ := r.Program.State(r.From)
			r.shows(&f, from, run)
			r.broken(f)
			return
		}
	}
}

// presses returns the runs on which the requirement's buttons are pressed.
func (r *required) presses() []timed.Run {
	from, _ := r.Program.State(r.From)
	var buttons []int
	for _, name := range r.Press {
		b, _ := r.Program.Button(name)
		buttons = append(buttons, b)
	}
	return r.explored.Press(from, buttons)
}

// shows makes a run the witness of a finding, if it has one; from is the state in
// which the event occurs.
func (r *required) shows(f *Finding, from machine.StateID, run timed.Run) (timed.Witness, bool) {
	w, ok := run.Witness()
	if ok {
		f.State = r.Program.Name(from)
		f.plays(run, w)
		f.Claim = Claim{State: r.Program.Name(run.State()), Breaks: r.Requirement.String(), Event: uint32(w.Event)}
	}
	return w, ok
}
