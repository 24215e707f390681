package model

import (
	"fmt"
	"strings"
)

func (r *reader) readStates(root *table) {
	d := r.design
	for _, t := range r.many(root, "state", "state") {
		var s State
		have := r.element(t, &s.Source, shape{what: titled("state", t), fields: s.fields(r.output)})
		if have["name"] && (s.Name == Any || s.Name == Back) {
			r.fault(s.At("name"), fmt.Sprintf("%q cannot be a state's name", s.Name), "the word has its own meaning in from and to: choose another")
		}
		r.enter(r.names[SortState], s.Name, &s.Source)
		d.States = append(d.States, s)
	}
	r.start()
}

// start checks that power-up enters exactly one state.
func (r *reader) start() {
	d := r.design
	if len(d.States) == 0 {
		r.fault(d.Prop.Pos, "the design has no state", `add a [[state]] of kind = "dormant", in which the prop rests`)
		return
	}
	var dormant, start []*State
	for i := range d.States {
		s := &d.States[i]
		if s.Kind == Dormant {
			dormant = append(dormant, s)
		}
		if !s.Start {
			continue
		}
		if s.Kind != Dormant {
			r.fault(s.At("start"), fmt.Sprintf("state %q is marked start but not dormant", s.Name), "power-up enters a dormant state: mark one of those")
			continue
		}
		start = append(start, s)
	}
	switch {
	case len(dormant) == 0:
		r.fault(d.States[0].At("kind"), "no state is dormant", `give the state in which the prop rests kind = "dormant"`)
	case len(start) > 1:
		for _, s := range start[1:] {
			r.fault(s.At("start"), fmt.Sprintf("state %q is marked start, and so is %q in line %d", s.Name, start[0].Name, start[0].At("start").Line), "keep one of them")
		}
	case len(start) == 0 && len(dormant) > 1:
		r.fault(dormant[0].Pos, fmt.Sprintf("%s are dormant and none is marked start", shortList(dormant)), "add start = true to the one that power-up enters")
	}
}

// shortList names states, of many the first few.
func shortList(states []*State) string {
	const most = 8
	var list []string
	for _, s := range states[:min(most, len(states))] {
		list = append(list, s.Name)
	}
	if n := len(states) - most; n > 0 {
		list = append(list, fmt.Sprintf("%d more", n))
	}
	last := len(list) - 1
	return strings.Join(list[:last], ", ") + " and " + list[last]
}

func (r *reader) readTransitions(root *table) {
	d := r.design
	kinds := map[string]StateKind{}
	for i := range d.States {
		kinds[d.States[i].Name] = d.States[i].Kind
	}
	for _, t := range r.many(root, "transition", "transition") {
		var tr Transition
		r.element(t, &tr.Source, shape{what: "the transition", fields: tr.fields()})
		r.outcome(&tr)
		if tr.Defer {
			r.performing(&tr, tr.At("defer"), "defer waits for a routine's end", kinds)
			for _, on := range tr.On {
				if on.Kind == Done {
					r.fault(tr.At("defer"), "done cannot be deferred: it is the routine's end", "leave defer out")
				}
			}
		}
		if tr.To == Back {
			r.performing(&tr, tr.At("to"), "back leads out of a performing state", kinds)
		}
		d.Transitions = append(d.Transitions, tr)
	}
}

// outcome checks that a transition says one thing.
func (r *reader) outcome(tr *Transition) {
	switch to := tr.States("to"); {
	case to && tr.Ignore:
		r.fault(tr.At("ignore"), "the transition has a target and ignores its trigger", "keep to or ignore")
	case !to && !tr.States("ignore"):
		r.fault(tr.Pos, "the transition leads nowhere", `add to = "STATE", or ignore = true where silence is meant`)
	case !to && !tr.Ignore:
		r.fault(tr.At("ignore"), "the transition leads nowhere", `write ignore = true where silence is meant, or add to = "STATE"`)
	case tr.Ignore && tr.Defer:
		r.fault(tr.At("defer"), "what is ignored cannot be deferred", "keep defer or ignore")
	}
}

// performing checks that a transition starts in performing states only.
func (r *reader) performing(tr *Transition, pos Pos, why string, kinds map[string]StateKind) {
	for _, f := range tr.From {
		kind, known := kinds[f.State]
		wrong := ""
		switch {
		case f.State == Any && f.Kind == "":
			wrong = `"any" has other states too`
		case f.State == Any && f.Kind != Performing:
			wrong = fmt.Sprintf("%q has none", f)
		case f.State != Any && known && (kind == Dormant || kind == Ambient):
			wrong = fmt.Sprintf("%q is %s", f.State, kind)
		default:
			continue
		}
		r.fault(pos, fmt.Sprintf("%s, but %s", why, wrong), `name performing states in from, or write "any performing"`)
		return
	}
}
