package tour

import (
	"bytes"
	"fmt"
	"html/template"
	"slices"
	"strings"
	"sync"
	"time"

	"propwright/gen"
	"propwright/gen/letters"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"
	"propwright/templates"
)

// A page is what the walk says to people.
type page struct {
	Title  string
	Lines  []string // what it is
	Before []string // to be ticked before power comes on
	Hint   string
	First  string // what is seen at power-up
	Steps  []told
	Left   []string // what is not tried
	Done   string
}

// A told step is what to do, and lines on what comes of it.
type told struct {
	N    int // from 1
	Do   string
	Sees []string
}

func (w *Walk) page() *page {
	d := w.program.Design
	t := &teller{d: d, p: w.program, told: map[machine.StateID]bool{}}
	p := &page{
		Title: "Bench walk: " + d.Prop.Called(),
		Before: []string{
			"Hands, hair and cables are clear: servos pinch, and they may move at once.",
			"The supply has its fuse, and its switch is within reach. The remote is no substitute for it.",
			"For the first walk the servos' horns are off.",
		},
		Hint:  "Some states end by themselves; where a state is named first it says when. If one ends while you read, come back to it the way you came, and go on.",
		First: "You see: " + t.state(w.program.Start),
		Left:  w.Left,
		Done:  fmt.Sprintf("Done: press %s, switch off, unplug.", button(d.Remote.Stop)),
	}
	if note := model.Visible(d.Prop.Note); note != "" {
		p.Lines = append(p.Lines, note)
	}
	p.Lines = append(p.Lines, fmt.Sprintf("%d steps, about %s, with the remote in hand. Tick each step; where the prop does something else, note what, and press %s.",
		len(w.Steps), aboutMinutes(w.length()), button(d.Remote.Stop)))
	p.Lines = append(p.Lines, "The walk comes from the design, and nothing in it has been seen to move. It shows what only the prop can: that parts are wired as the design says, that nothing binds or slips, and that what is seen and heard is what was meant.")
	for i := range w.Steps {
		p.Steps = append(p.Steps, told{i + 1, t.deed(&w.Steps[i]), t.sees(&w.Steps[i])})
	}
	return p
}

// Text writes the walk for people, in lines of at most textWidth characters.
func (w *Walk) Text() []byte {
	p := w.page()
	var b strings.Builder
	wrapped := func(first, indent, text string) {
		for _, line := range letters.Wrap(text, letters.Columns(textWidth-len(indent))) {
			b.WriteString(first + line + "\n")
			first = indent
		}
	}
	b.WriteString(p.Title + "\n" + strings.Repeat("=", len([]rune(p.Title))) + "\n\n")
	for _, l := range p.Lines {
		wrapped("", "", l)
		b.WriteByte('\n')
	}
	b.WriteString("Before power comes on\n")
	for _, l := range p.Before {
		wrapped("  [ ] ", "      ", l)
	}
	b.WriteByte('\n')
	wrapped("", "", p.Hint)
	b.WriteString("\nSwitch on\n")
	wrapped("      ", "      ", p.First)
	b.WriteString("\nSteps\n")
	const indent = "          "
	for _, s := range p.Steps {
		wrapped(fmt.Sprintf("%4d. [ ] ", s.N), indent, s.Do)
		for _, l := range s.Sees {
			wrapped(indent, indent, l)
		}
	}
	if len(p.Left) > 0 {
		b.WriteString("\nNot in this walk\n")
		for _, l := range p.Left {
			wrapped("      ", "      ", l)
		}
	}
	b.WriteString("\n" + p.Done + "\n")
	return []byte(b.String())
}

const textWidth = 78

var sheet = sync.OnceValue(func() *template.Template {
	return template.Must(template.ParseFS(templates.Tour, "tour/tour.html.tmpl"))
})

// HTML writes the walk as a page to print, or to tick off on a screen.
func (w *Walk) HTML() ([]byte, error) {
	var b bytes.Buffer
	err := sheet().Execute(&b, w.page())
	return b.Bytes(), err
}

// length is about how long the walk takes.
func (w *Walk) length() (sum time.Duration) {
	for i := range w.Steps {
		sum += w.Steps[i].length()
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
	d    *model.Design
	p    *machine.Program
	told map[machine.StateID]bool
}

// sees describes the effect of a step.
func (t *teller) sees(s *Step) (lines []string) {
	switch s.Kind {
	case Enters, Restarts:
		anew := ""
		if s.From == s.To && s.Kind == Enters {
			anew = ", started again"
		}
		lines = append(lines, "→ "+t.state(s.To)+anew)
	case Waits:
		lines = append(lines, fmt.Sprintf("→ goes on; %s will follow when it ends", s.Then))
	case Does:
		lines = append(lines, "→ "+t.does(s)+"; the rest goes on")
	case Silent:
		if s.Ends {
			lines = append(lines, "→ the routine ends, and nothing follows")
		} else {
			lines = append(lines, "→ nothing changes")
		}
	}
	others := slices.DeleteFunc(slices.Clone(s.Among), func(x machine.StateID) bool { return x == s.To })
	if len(others) > 0 {
		lines = append(lines, fmt.Sprintf("if it is %s, which chance may choose: come back to %s the way you came, and do this again", t.either(others), t.name(s.From)))
	}
	short := slices.DeleteFunc(slices.Clone(s.Short), func(x machine.StateID) bool { return slices.Contains(s.Among, x) })
	if len(short) > 0 {
		lines = append(lines, fmt.Sprintf("if it is %s, the hold was not heard", t.either(short)))
	}
	var notes []string
	for _, m := range s.Moves {
		if note := model.Visible(t.d.Transitions[m].Note); note != "" && !slices.Contains(notes, note) {
			notes = append(notes, note)
			lines = append(lines, "note: "+note)
		}
	}
	return lines
}

// does describes the orders of a step.
func (t *teller) does(s *Step) string {
	var all []string
	for _, m := range s.Moves {
		if does := t.d.Does(&t.d.Transitions[m]); does != "" && !slices.Contains(all, does) {
			all = append(all, does)
		}
	}
	return strings.Join(all, ", then ")
}

// button names a button so that it does not read as a word of the sentence.
func button(name string) string { return "“" + name + "”" }

// deed says what to do.
func (t *teller) deed(s *Step) string {
	if s.Kind == Restarts {
		return "switch the prop off and on again, with all its own switches off"
	}
	first := s.Acts[0]
	while := ""
	if r := t.d.Routine(t.d.States[s.From].Plays); r != nil && !r.Loop && first.Kind != machine.ActWait {
		while = "while " + t.name(s.From) + " plays: "
	}
	switch first.Kind {
	case machine.ActWait:
		if s.Ends {
			return "wait for the end"
		}
		most := model.SayDuration(first.For - time.Millisecond)
		if s.Soonest > 0 {
			return fmt.Sprintf("hands off: it takes %s at least and %s at most", model.SayDuration(s.Soonest), most)
		}
		return "hands off: wait, " + most + " at most"
	case machine.ActHold:
		return fmt.Sprintf("%skeep %s down for a good %s, then let go", while, button(first.Name), model.FormatDuration(first.For))
	case machine.ActRise:
		return while + "switch " + button(first.Name) + " on"
	case machine.ActFall:
		return while + "switch " + button(first.Name) + " off"
	case machine.ActEvent:
		return while + "have your own code post " + button(first.Name)
	}
	var names []string
	for _, a := range s.Acts {
		if a.Kind == machine.ActPress {
			names = append(names, button(a.Name))
		}
	}
	return while + "press " + strings.Join(names, ", then ")
}

// either names one of several states.
func (t *teller) either(states []machine.StateID) string {
	var names []string
	for _, s := range states {
		names = append(names, t.name(s))
	}
	return strings.Join(names, " or ")
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
		if timer.Do {
			text += fmt.Sprintf("; %s by itself %s", t.p.Trigger(&timer.Move), t.d.Does(&t.d.Transitions[timer.Transition]))
			continue
		}
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

// File is the walk's name in a build.
const File = "tour.txt"

// Files returns the walk of a build.
func Files(s *check.Study) ([]gen.File, error) {
	return []gen.File{{Path: File, Text: Find(s).Text()}}, nil
}
