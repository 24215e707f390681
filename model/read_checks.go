package model

import (
	"fmt"
	"slices"
)

// Whether the keys of an element fit together: each is read by itself before.

func (r *reader) checkOutput(o *Output, what string, have got) {
	switch {
	case o.States("bus") && o.States("pin"):
		r.fault(o.At("bus"), what+" has a pin and a bus", "keep pin, or keep bus and channel")
	case o.States("channel") && !o.States("bus"):
		r.fault(o.At("channel"), what+" has a channel and no bus", `add for example bus = "i2c:0x40" and take pin away, or leave channel out`)
	}
	if check := o.ofKind().check; check != nil {
		check(r, o, what, have)
	}
}

// checkRoutine checks a routine's length, where its cues are without fault.
func (r *reader) checkRoutine(rt *Routine, what string, have got) {
	if !have["cue"] {
		return
	}
	cues := Routine{Cues: rt.Cues}
	end := r.design.RoutineLength(&cues)
	switch {
	case have["length"] && rt.Length < end:
		r.fault(rt.At("length"), fmt.Sprintf("length %s is shorter than the cues, which end at %s", FormatDuration(rt.Length), FormatDuration(end)), fmt.Sprintf("write %q or more, or leave it out", FormatDuration(end)))
	case end == 0 && rt.Length == 0 && rt.Loop:
		r.fault(rt.At("loop"), what+" repeats but takes no time", `add a cue that lasts, or for example length = "2s"`)
	case end >= day:
		r.fault(rt.Pos, what+" lasts a day or longer", "a routine is below a day, 1440m")
	}
}

func (r *reader) checkCue(c *Cue, _ string, have got) {
	r.checkAction(&c.Source, &c.Action, r.output(c.Output), have)
	_, output := have["output"]
	_, track := have["track"]
	switch {
	case output && track:
		r.fault(c.Source.At("track"), "the cue has an output and a track", "keep one of them")
	case !output && !track:
		r.fault(c.Pos, "the cue has neither output nor track", `add output = "OUTPUT" or track = "TRACK"`)
	}
}

// checkAction checks what a cue or a pose asks of o, which is nil where it is not
// known or the cue plays a track.
func (r *reader) checkAction(s *Source, a *Action, o *Output, have got) {
	if check := o.ofKind().checkAction; check != nil {
		check(r, s, a, o, have)
	}
}

func (r *reader) checkState(s *State, _ string, have got) {
	if have["name"] && (s.Name == Any || s.Name == Back) {
		r.fault(s.At("name"), fmt.Sprintf("%q cannot be a state's name", s.Name), "the word has its own meaning in from and to: choose another")
	}
	if r.kinds == nil {
		r.kinds = map[string]StateKind{}
	}
	r.kinds[s.Name] = s.Kind
}

// start checks that power-up enters exactly one state.
func (r *reader) start() {
	d := r.design
	if len(d.States) == 0 {
		r.fault(d.Prop.Pos, "the design has no state", `add a [[state]] of kind = "dormant", in which the prop rests`)
		return
	}
	var dormant, start []*State
	unread := false // a kind, which is a fault already
	for i := range d.States {
		s := &d.States[i]
		unread = unread || !slices.Contains(StateKinds, s.Kind)
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
	case len(dormant) == 0 && !unread:
		r.fault(d.States[0].At("kind"), "no state is dormant", `give the state in which the prop rests kind = "dormant"`)
	case len(start) > 1:
		for _, s := range start[1:] {
			r.fault(s.At("start"), fmt.Sprintf("state %q is marked start, and so is %q in line %d", s.Name, start[0].Name, start[0].At("start").Line), "keep one of them")
		}
	case len(start) == 0 && len(dormant) > 1:
		names := make([]string, len(dormant))
		for i, s := range dormant {
			names[i] = s.Name
		}
		r.fault(dormant[0].Pos, fmt.Sprintf("%s are dormant and none is marked start", AndList(names, 8)), "add start = true to the one that power-up enters")
	}
}

func (r *reader) checkTransition(tr *Transition, _ string, have got) {
	if read, stated := have["ignore"]; read || !stated {
		r.outcome(tr)
	}
	for i := range tr.On {
		if on := &tr.On[i]; on.Kind == Repeated && tr.To != "" {
			r.fault(on.Pos, fmt.Sprintf("%q comes again and again, and leads nowhere", on), fmt.Sprintf("write \"hold %s for 800ms\" to lead to a state, or do in place of to", on.Name))
		}
	}
	if tr.Defer {
		r.performing(tr, "defer", "defer waits for a routine's end")
		for _, on := range tr.On {
			if on.Kind == Done {
				r.fault(tr.At("defer"), "done cannot be deferred: it is the routine's end", "leave defer out")
			}
		}
	}
	if _, state := r.kinds[Back]; tr.To == Back && !state { // a state of that name is a fault already
		r.performing(tr, "to", "back leads out of a performing state")
	}
}

// outcome checks that a transition says one thing.
func (r *reader) outcome(tr *Transition) {
	to, do := tr.States("to"), tr.States("do")
	switch {
	case to && do:
		r.fault(tr.At("do"), "the transition has a target and asks something of outputs", "keep to or do: what a state asks of outputs is in its pose and its routine")
	case do && tr.Ignore:
		r.fault(tr.At("ignore"), "the transition asks something of outputs and ignores its trigger", "keep do or ignore")
	case do && tr.Defer:
		r.fault(tr.At("defer"), "what is asked of outputs cannot be deferred", "leave defer out; or lead to a state whose routine does it")
	case do:
	case to && tr.Ignore:
		r.fault(tr.At("ignore"), "the transition has a target and ignores its trigger", "keep to or ignore")
	case !to && !tr.States("ignore"):
		r.fault(tr.Pos, "the transition leads nowhere", `add to = "STATE", do = { output = "OUTPUT", … }, or ignore = true where silence is meant`)
	case !to && !tr.Ignore:
		r.fault(tr.At("ignore"), "the transition leads nowhere", `write ignore = true where silence is meant, or add to = "STATE"`)
	case tr.Ignore && tr.Defer:
		r.fault(tr.At("defer"), "what is ignored cannot be deferred", "keep defer or ignore")
	}
}

// performing checks that a transition starts in performing states only.
func (r *reader) performing(tr *Transition, key, why string) {
	for _, f := range tr.From {
		kind, known := r.kinds[f.State]
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
		r.fault(tr.At(key), fmt.Sprintf("%s, but %s", why, wrong), `name performing states in from, or write "any performing"`)
		return
	}
}
