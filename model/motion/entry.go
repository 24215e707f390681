package motion

import (
	"slices"

	"propwright/model"
)

// Entry is what entering a state asks of the outputs, in order: first of those
// that its pose does not name, then of those it names. On entering a dormant
// state an output that the pose does not name goes to rest; else it keeps its
// value, except that a spinner which nothing in the state moves is stopped. A strip of
// which a dormant state's pose names some lights goes to rest first, for the others.
// The calls are of no cue: At is 0, and Cue is -1 where the pose does not name
// the output, else its place in the pose.
func Entry(d *model.Design, st *model.State) []Call {
	var calls []Call
	for i := range d.Outputs {
		o := &d.Outputs[i]
		k := behaviours[o.Kind]
		rests := st.Kind == model.Dormant && o.Kind.Poses()
		if stops := k != nil && k.stops && !moved(d, st, o.Name); !rests && !stops {
			continue
		}
		a := model.RestAction(o)
		if !slices.ContainsFunc(st.Pose, func(p model.Pose) bool {
			return p.Output == o.Name && (st.Kind != model.Dormant || covers(o, p.Action, a))
		}) {
			a.Over = st.Over
			calls = append(calls, Call{Cue: -1, Output: o.Name, Action: a})
		}
	}
	for i := range st.Pose {
		p := &st.Pose[i]
		calls = append(calls, Call{Cue: i, Output: p.Output, Action: posed(st, p)})
	}
	return calls
}

// posed is a pose's action: where it does not say how long it takes, the state
// does.
func posed(st *model.State, p *model.Pose) model.Action {
	a := p.Action
	if a.Over == 0 && !p.States("over") {
		a.Over = st.Over
	}
	return a
}

// moved reports whether a state's routine or one of its drifts names an output.
func moved(d *model.Design, st *model.State, output string) bool {
	if slices.ContainsFunc(st.Drift, func(dr model.Drift) bool { return dr.Output == output }) {
		return true
	}
	r := d.Routine(st.Plays)
	return r != nil && slices.ContainsFunc(Sheet(d, r), func(c Call) bool { return c.Output == output })
}
