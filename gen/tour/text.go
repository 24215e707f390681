package tour

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"propwright/gen"
	"propwright/gen/letters"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"
)

// Text writes the walk for people.
func (w *Walk) Text() []byte {
	d := w.program.Design
	t := &teller{d: d, p: w.program, told: map[machine.StateID]bool{}}
	title := "Bench walk: " + d.Prop.Called()
	t.linef("%s\n%s\n", title, strings.Repeat("=", len([]rune(title))))
	if note := model.Visible(d.Prop.Note); note != "" {
		t.wrapped("", note)
	}
	t.linef("")
	t.wrapped("", fmt.Sprintf("%d steps, about %s, with the remote in hand. Tick each step; where the prop does something else, note what, and press %s.",
		len(w.Steps), aboutMinutes(w.length()), d.Remote.Stop))
	t.linef(`
Before power comes on
  [ ] Hands, hair and cables are clear: servos pinch, and they may move at once.
  [ ] The supply has its fuse, and its switch is within reach. The remote is no
      substitute for it.
  [ ] For the first walk the servos' horns are off.
`)
	t.wrapped("", "Some states end by themselves; where a state is named first it says when. If one ends while you read, come back to it the way you came, and go on.")
	t.linef("\nSwitch on")
	t.wrapped("      ", "You see: "+t.state(w.program.Start))
	t.linef("\nSteps")
	for i := range w.Steps {
		t.step(i+1, &w.Steps[i])
	}
	if len(w.Left) > 0 {
		t.linef("\nNot in this walk")
		for _, l := range w.Left {
			t.wrapped("      ", l)
		}
	}
	t.linef("\nDone: press %s, switch off, unplug.", d.Remote.Stop)
	return []byte(t.b.String())
}

// length is about how long the walk takes: some seconds a step, and waiting.
func (w *Walk) length() time.Duration {
	var sum time.Duration
	for i := range w.Steps {
		sum += 4 * time.Second
		for _, a := range w.Steps[i].Acts {
			sum += a.For + 500*time.Millisecond
		}
	}
	return sum
}

func aboutMinutes(d time.Duration) string {
	m := int((d + time.Minute - 1) / time.Minute)
	if m == 1 {
		return "a minute"
	}
	return fmt.Sprintf("%d minutes", m)
}

type teller struct {
	b    strings.Builder
	d    *model.Design
	p    *machine.Program
	told map[machine.StateID]bool
}

func (t *teller) linef(format string, args ...any) { fmt.Fprintf(&t.b, format+"\n", args...) }

const textWidth = 78

// wrapped writes a text in lines of at most textWidth characters.
func (t *teller) wrapped(indent, text string) {
	for _, line := range letters.Wrap(text, letters.Columns(textWidth-len(indent))) {
		t.linef("%s%s", indent, line)
	}
}

func (t *teller) step(n int, s *Step) {
	t.linef("%4d. [ ] %s", n, t.deed(s))
	const indent = "          "
	switch s.Kind {
	case Enters:
		anew := ""
		if s.From == s.To {
			anew = ", started again"
		}
		t.wrapped(indent, "→ "+t.state(s.To)+anew)
	case Waits:
		t.wrapped(indent, fmt.Sprintf("→ goes on; %s will follow when it ends", t.name(s.Then)))
	case Silent:
		if s.Acts[0].Kind == machine.ActWait {
			t.wrapped(indent, "→ the routine ends, and nothing follows")
		} else {
			t.wrapped(indent, "→ nothing changes")
		}
	}
	var notes []string
	for _, m := range s.Moves {
		if note := model.Visible(t.d.Transitions[m].Note); note != "" && !slices.Contains(notes, note) {
			notes = append(notes, note)
			t.wrapped(indent, "note: "+note)
		}
	}
}

// deed says what to do.
func (t *teller) deed(s *Step) string {
	first := s.Acts[0]
	while := ""
	if r := t.d.Routine(t.d.States[s.From].Plays); r != nil && !r.Loop && first.Kind != machine.ActWait {
		while = "while " + t.name(s.From) + " plays: "
	}
	switch first.Kind {
	case machine.ActWait:
		if s.Kind != Waits && t.d.States[s.From].Plays != "" {
			return "wait for the end"
		}
		most := model.FormatDuration(first.For - time.Millisecond)
		if s.Soonest > 0 {
			return fmt.Sprintf("hands off: it takes %s at least and %s at most", model.FormatDuration(s.Soonest), most)
		}
		return "hands off: wait, " + most + " at most"
	case machine.ActHold:
		return fmt.Sprintf("%skeep %s down for a good %s, then let go", while, first.Name, model.FormatDuration(first.For))
	case machine.ActRise:
		return while + "switch " + first.Name + " on"
	case machine.ActFall:
		return while + "switch " + first.Name + " off"
	}
	var names []string
	for _, a := range s.Acts {
		if a.Kind == machine.ActPress {
			names = append(names, a.Name)
		}
	}
	text := while + "press " + strings.Join(names, ", ")
	if len(names) > 1 {
		text += ", one after the other"
	}
	return text
}

func (t *teller) name(s machine.StateID) string { return t.d.States[s].Name }

// state says what a state looks like, in full the first time.
func (t *teller) state(id machine.StateID) string {
	s := &t.d.States[id]
	if t.told[id] {
		return s.Name
	}
	t.told[id] = true
	text := s.Name
	if label := model.Visible(s.Label); label != "" {
		text += ", “" + label + "”"
	}
	var does []string
	switch s.Kind {
	case model.Dormant:
		does = append(does, "at rest")
	case model.Ambient:
		does = append(does, "idles")
	case model.Performing:
		does = append(does, "performs")
	}
	if r := t.d.Routine(s.Plays); r != nil {
		does = append(does, t.routine(r))
	}
	if len(s.Drift) > 0 {
		var names []string
		for i := range s.Drift {
			names = append(names, s.Drift[i].Output)
		}
		does = append(does, strings.Join(names, ", ")+" drifting")
	}
	text += ": " + strings.Join(does, "; ")
	text += t.byItself(id)
	if note := model.Visible(s.Note); note != "" {
		text += ". Note: " + note
	}
	return text
}

// byItself says when a state ends without a hand.
func (t *teller) byItself(id machine.StateID) string {
	text := ""
	for _, timer := range t.p.Timers(id) {
		text += fmt.Sprintf("; %s by itself to %s", t.p.Trigger(&timer.Move), t.p.To(&timer.Move))
	}
	return text
}

// routine says what to look and listen for.
func (t *teller) routine(r *model.Routine) string {
	var parts, sounds []string
	for i := range r.Cues {
		c := &r.Cues[i]
		if c.Track != "" {
			if !slices.Contains(sounds, c.Track) {
				sounds = append(sounds, c.Track)
			}
		} else if !slices.Contains(parts, c.Output) {
			parts = append(parts, c.Output)
		}
	}
	text := r.Name
	if r.Loop {
		text += " over and over"
	} else {
		text += " for " + model.FormatDuration(t.d.RoutineLength(r))
	}
	if parts != nil {
		text += ", with " + strings.Join(parts, ", ")
	}
	if sounds != nil {
		text += ", sound " + strings.Join(sounds, ", ")
	}
	return text
}

// Files gives the walk of a build.
func Files(s *check.Study) ([]gen.File, error) {
	return []gen.File{{Path: "tour.txt", Text: Find(s).Text()}}, nil
}
