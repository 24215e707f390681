package model

import "fmt"

func (r *reader) readRoutines(root *table) {
	d := r.design
	for _, t := range r.many(root, "routine", "routine") {
		var rt Routine
		what := titled("routine", t)
		have := r.element(t, &rt.Source, shape{what: what, fields: rt.fields(), parts: []string{"cue"}})
		before := len(r.faults)
		for _, t := range r.many(t, "cue", "routine.cue") {
			rt.Cues = append(rt.Cues, r.cue(t))
		}
		if len(r.faults) == before {
			r.lasts(&rt, what, have)
		}
		r.enter(r.names[SortRoutine], rt.Name, &rt.Source)
		d.Routines = append(d.Routines, rt)
	}
}

// lasts checks a routine's length, whose cues are without fault.
func (r *reader) lasts(rt *Routine, what string, have got) {
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

func (r *reader) cue(t *table) Cue {
	c := Cue{Output: peek(t, "output"), Track: peek(t, "track")}
	o := r.output(c.Output)
	have := r.action(t, &c.Source, &c.Action, o, shape{what: "the cue", fields: c.fields(o)})
	_, output := have["output"]
	_, track := have["track"]
	switch {
	case output && track:
		r.fault(c.Source.At("track"), "the cue has an output and a track", "keep one of them")
	case !output && !track:
		r.fault(c.Pos, "the cue has neither output nor track", `add output = "OUTPUT" or track = "TRACK"`)
	}
	return c
}

// action reads what a cue or a pose asks of o, which is nil where it is not
// known or the cue plays a track.
func (r *reader) action(t *table, s *Source, a *Action, o *Output, sh shape) got {
	sh.elsewhere = func(key string) string {
		return kindsWith(key, func(k *outputKind) []field { return k.action(a, o) })
	}
	have := r.element(t, s, sh)
	if check := o.ofKind().checkAction; check != nil {
		check(r, s, a, have)
	}
	return have
}
