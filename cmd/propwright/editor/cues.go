package editor

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/edit"
)

// mark returns what stands before a cue of the cue sheet.
func (v *routines) mark(cue int) string {
	if v.marked[cue] {
		return "• "
	}
	return "  "
}

// chosen returns the cues that an action is for: those that are marked; else, in
// the cue sheet, the one under the cursor; else all of the routine.
func (v *routines) chosen() []model.Elem {
	if here, ok := v.cues.elem(); ok && v.inCue && len(v.marked) == 0 {
		return []model.Elem{here}
	}
	var all []model.Elem
	for i := range v.cues.lines {
		if at := v.cues.lines[i].elem; at.Sort == model.SortCue && (len(v.marked) == 0 || v.marked[at.Part]) {
			all = append(all, at)
		}
	}
	return all
}

// onChosen returns an action on the chosen cues; without a cue it says so.
func onChosen(do func(v *routines, cues []model.Elem)) func(view) {
	return inView(func(v *routines) {
		if cues := v.chosen(); cues != nil {
			do(v, cues)
			return
		}
		v.say("there is no cue yet")
	})
}

func (v *routines) markHere() {
	at, ok := v.cues.elem()
	if !ok || !v.inCue {
		v.say("Right goes to the cues; Space marks one there")
		return
	}
	if v.marked[at.Part] {
		delete(v.marked, at.Part)
	} else {
		v.markCues(append(v.markedCues(), at))
	}
	v.listCues()
	v.Move(0, 1)
}

// markedCues returns the marked cues, none where none is.
func (v *routines) markedCues() []model.Elem {
	if len(v.marked) == 0 {
		return nil
	}
	return v.chosen()
}

func (v *routines) markCues(cues []model.Elem) {
	v.marked = map[int]bool{}
	for _, at := range cues {
		v.marked[at.Part] = true
	}
	v.listCues()
}

// markAll marks all cues of the routine, or none where any is marked.
func (v *routines) markAll() {
	if len(v.marked) > 0 {
		v.markCues(nil)
		return
	}
	v.inCue = false // so that all are meant
	cues := v.chosen()
	v.inCue = cues != nil
	v.markCues(cues)
}

// done shows the design after an edit of cues, and says what was done.
func (v *routines) done(edit func() error) error {
	before := v.desk.draft.Revision()
	if err := v.did(edit()); err != nil {
		return err
	}
	if v.desk.draft.Revision() == before {
		v.say("nothing has changed: it was like that before")
		return nil
	}
	v.say(v.desk.draft.Undoable() + ": done; Ctrl-Z takes it back")
	return nil
}

// askDuration asks for a time.
func (v *routines) askDuration(title, hint, text string, accept func(time.Duration) error) {
	v.over.Write(&pane.Dialog{
		Title: title, Hint: hint,
		Judge: func(s string) error { _, err := model.ParseDuration(s); return err },
		Accept: func(s string) error {
			by, err := model.ParseDuration(s)
			if err != nil {
				return err
			}
			return v.done(func() error { return accept(by) })
		},
	}, text)
}

func (v *routines) shiftCues(cues []model.Elem) {
	v.askDuration("shift "+edit.Count(cues)+" by", "for example 200ms, or -0.5s to an earlier time", "", func(by time.Duration) error {
		return v.desk.draft.Retime("shift "+edit.Count(cues), cues, func(at time.Duration) time.Duration { return at + by })
	})
}

func (v *routines) snapCues(cues []model.Elem) {
	v.askDuration("snap "+edit.Count(cues)+" to a beat of", "the time from one beat to the next, for example 500ms for 120 beats a minute", "", func(beat time.Duration) error {
		if beat <= 0 {
			return errors.New("a beat takes some time; write for example 500ms")
		}
		return v.desk.draft.Retime("snap "+edit.Count(cues), cues, func(at time.Duration) time.Duration { return at.Round(beat) })
	})
}

func (v *routines) stretchCues(cues []model.Elem) {
	v.over.Write(&pane.Dialog{
		Title: "stretch " + edit.Count(cues) + " to",
		Hint:  "so many percent of their time, for example 150% or 80%; the first stays where it is",
		Accept: func(s string) error {
			percent, err := strconv.ParseFloat(strings.TrimSuffix(s, "%"), 64)
			if err != nil || !(percent >= 1 && percent <= 10000) {
				return fmt.Errorf("%q does not say by how much; write percent from 1%% to 10000%%, for example 150%%", s)
			}
			return v.done(func() error { return v.desk.draft.Stretch(cues, percent/100) })
		},
	}, "")
}

func (v *routines) mirrorCues(cues []model.Elem) {
	if err := v.done(func() error { return v.desk.draft.Mirror(cues) }); err != nil {
		v.complain(err)
	}
}

// writeVoice asks for the precision of the cues that take the place of a follow, and
// writes them.
func (v *routines) writeVoice(cues []model.Elem) {
	d := v.desk.design()
	hint := ""
	for _, at := range cues {
		c := &d.Routines[at.Index].Cues[at.Part]
		o := d.Output(c.Output)
		switch {
		case c.Follow.Track == "" || o == nil || hint != "":
		case o.Kind == model.KindServo:
			way := model.Degrees(math.Abs(float64(c.To - c.Follow.Quiet)))
			hint = fmt.Sprintf("percent of the way from silence to the loudest: 10%% of %s are %v", c.Output, way/10)
		default:
			hint = "percent of the way from silence to the loudest"
		}
	}
	if hint == "" {
		v.say("nothing here follows a track; follow in a cue's details has it do so")
		return
	}
	v.over.Write(&pane.Dialog{
		Title: "write what follows as cues, within", Hint: hint,
		Accept: func(s string) error {
			percent, err := strconv.ParseFloat(strings.TrimSuffix(s, "%"), 64)
			if err != nil || !(percent >= 0 && percent <= 100) {
				return fmt.Errorf("%q is no tolerance; write percent from 0%% to 100%%, for example 10%%", s)
			}
			written, err := v.desk.draft.WriteOut(cues, percent/100)
			if err != nil {
				return err
			}
			v.changed()
			v.markCues(written)
			v.say(edit.Count(written) + " written; Ctrl-Z has it follow again")
			return nil
		},
	}, "10%")
}

func (v *routines) copyCues(cues []model.Elem) {
	v.copied = edit.Copied(v.desk.design(), cues)
	v.say(edit.Count(cues) + " copied; v pastes, also into another routine")
}

// pasteCues adds what was copied; the new cues are marked.
func (v *routines) pasteCues() {
	at, ok := v.list.elem()
	if !ok || v.copied == nil {
		v.say("nothing is copied yet; c copies cues")
		return
	}
	title := fmt.Sprintf("paste %d into %s, the first at", len(v.copied), v.desk.design().Name(at))
	v.askDuration(title, "the others follow as they were copied", model.FormatDuration(v.nextTime()), func(first time.Duration) error {
		added, err := v.desk.draft.Paste(at.Index, v.copied, first)
		if err != nil {
			return err
		}
		v.changed()
		v.goTo(added[len(added)-1])
		v.markCues(added)
		return nil
	})
}

// nextTime returns when a new cue begins: at the end of the one under the cursor, or
// of the routine.
func (v *routines) nextTime() time.Duration {
	d := v.desk.design()
	r := &d.Routines[v.of]
	if at, ok := v.cues.elem(); ok && v.inCue {
		r = &model.Routine{Cues: r.Cues[at.Part : at.Part+1]}
	}
	return d.RoutineLength(r)
}

// addCue asks for the output of a new cue, which begins at the next time. Behind
// a cue of the same output it takes as long as that.
func (v *routines) addCue() {
	if _, ok := v.list.elem(); !ok {
		v.say("there is no routine yet; Ctrl-N makes one")
		return
	}
	routine, at := v.of, model.FormatDuration(v.nextTime())
	before, behind := v.cues.elem()
	behind = behind && v.inCue
	v.askOutput(model.SortCue, func(key, name string) error {
		keys := []edit.Key{{Key: key, Value: name}, {Key: "at", Value: at}}
		if d := v.desk.design(); behind && d.Value(before, key) == name {
			keys = append(keys, edit.Key{Key: "over", Value: d.Value(before, "over")})
		}
		cue := model.SortCue.At(routine, v.desk.design().Len(model.SortCue, routine))
		return v.added(v.desk.draft.Add(cue, keys...))
	})
}

// quickKeys are the keys that a digit begins to write, each with the unit of a
// bare number.
var quickKeys = []struct{ key, unit string }{{"to", "deg"}, {"speed", "rev/s"}, {"colour", ""}}

// typed begins to write where the chosen cues go.
func (v *routines) typed(r rune) {
	if !v.inCue || !strings.ContainsRune("0123456789-#", r) {
		return
	}
	cues := v.chosen()
	for _, quick := range quickKeys {
		if v.has(cues, quick.key) {
			v.askValue(cues, quick.key, quick.unit, string(r))
			return
		}
	}
	v.say("there is no number to write here; Enter shows what the cue has")
}

// has reports whether all of the cues have a key.
func (v *routines) has(cues []model.Elem, key string) bool {
	for _, at := range cues {
		if !slices.ContainsFunc(v.desk.design().Keys(at), func(kv model.KeyValue) bool { return kv.Key == key }) {
			return false
		}
	}
	return true
}

// askValue asks for the value of a key in each of the cues.
func (v *routines) askValue(cues []model.Elem, key, unit, text string) {
	whole := func(s string) string {
		if _, err := strconv.ParseFloat(s, 64); err == nil {
			return s + unit
		}
		return s
	}
	v.over.Write(&pane.Dialog{
		Title: fmt.Sprintf("“%s” of %s", key, edit.Count(cues)),
		Hint:  "as in the details; an empty text takes the key away",
		Judge: func(s string) error { return edit.New(v.desk.design()).SetCues(cues, key, whole(s)) },
		Accept: func(s string) error {
			return v.done(func() error { return v.desk.draft.SetCues(cues, key, whole(s)) })
		},
	}, text)
}

// setField asks for a key that all of the cues have, and then for its value.
func (v *routines) setField(cues []model.Elem) {
	c := &pane.Dialog{Title: "set what in " + edit.Count(cues) + "?", Hint: "a few letters find it"}
	for _, kv := range v.desk.design().Keys(cues[0]) {
		if !v.has(cues, kv.Key) {
			continue
		}
		c.Offer(kv.Key, kv.Meaning, func() error {
			if kv.Choices == nil {
				v.askValue(cues, kv.Key, "", kv.Value)
				return nil
			}
			values := &pane.Dialog{Title: fmt.Sprintf("“%s” of %s", kv.Key, edit.Count(cues)), Hint: "a few letters find it"}
			for _, value := range kv.Choices {
				values.Offer(value, "", func() error {
					return v.done(func() error { return v.desk.draft.SetCues(cues, kv.Key, value) })
				})
			}
			v.over.Choose(values, "")
			return nil
		})
	}
	v.over.Choose(c, "")
}

// routineActions returns the keys of the routines.
func routineActions() []viewAction {
	by := func(d time.Duration) func(view) { return inView(func(v *routines) { v.scrub(d) }) }
	return []viewAction{
		{"routine-run", []string{"g"}, "play from the cue on, or from where it was stopped; or stop it", "", inView((*routines).run)},
		{"routine-loop", []string{"l"}, "loop the marked cues, else the cue, else the routine; or stop it", "", onChosen((*routines).loop)},
		{"routine-back", []string{","}, "back 20 ms in the routine: what the outputs do there is shown", "", by(-scrub)},
		{"routine-on", []string{"."}, "on 20 ms", "", by(scrub)},
		{"routine-far-back", []string{"<"}, "far back: half a second", "", by(-scrubFar)},
		{"routine-far-on", []string{">"}, "far on: half a second", "", by(scrubFar)},
		{"cue-mark", []string{"Space"}, "mark or unmark the cue; keys do the marked, else this, else all", "", inView((*routines).markHere)},
		{"cue-mark-all", []string{"a"}, "all cues marked, or none", "", inView((*routines).markAll)},
		{"cue-value", []string{"0…9"}, "write a number: the angle, how fast it turns; # begins a colour", "", inView(func(v *routines) { v.say("write the number on a cue") })},
		{"cue-shift", []string{"t"}, "shift cues in time", "", onChosen((*routines).shiftCues)},
		{"cue-stretch", []string{"s"}, "stretch cues in time, with what each takes", "", onChosen((*routines).stretchCues)},
		{"cue-snap", []string{"b"}, "snap cues to the nearest beat", "", onChosen((*routines).snapCues)},
		{"cue-copy", []string{"c"}, "copy cues", "", onChosen((*routines).copyCues)},
		{"cue-paste", []string{"v"}, "paste the copied cues, here or in another routine", "", inView((*routines).pasteCues)},
		{"cue-field", []string{"f"}, "set one field of the cues to the same value", "", onChosen((*routines).setField)},
		{"cue-mirror", []string{"m"}, "mirror the servos' moves to the other side of the middle", "", onChosen((*routines).mirrorCues)},
		{"cue-voice", []string{"w"}, "voice to cues: what follows a track as cues, to change them", "", onChosen((*routines).writeVoice)},
		{"cue-teach", []string{"e"}, "teach a pose: move the servos by hand, and have it as cues", "", inView((*routines).askTeach)},
		{"routine-picture", []string{"p"}, "write a picture of the routine beside the design, to be printed", "picture", inView((*routines).draws)},
	}
}

// cueKeys lists the routines' keys for which the key line has no room, each with
// the first word of what it does.
func cueKeys() []string {
	var words []string
	for _, a := range routineActions() {
		if a.line == "" {
			first, _, _ := strings.Cut(a.label, " ")
			words = append(words, a.keys[0]+" "+first)
		}
	}
	return words
}
