package model

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

// triggerWords gives each kind's word in a file, in the documentation's order.
var triggerWords = []struct {
	kind TriggerKind
	word string
	of   Sort   // whose name comes after it, "" for none
	form string // a whole trigger
}{
	{Press, "press", SortButton, "press BUTTON"},
	{Hold, "hold", SortButton, "hold BUTTON for 800ms"},
	{Release, "release", SortButton, "release BUTTON"},
	{Repeated, "repeat", SortButton, "repeat BUTTON"},
	{After, "after", "", "after 20s..40s"},
	{Done, "done", "", "done"},
	{Rise, "rise", SortInput, "rise INPUT"},
	{Fall, "fall", SortInput, "fall INPUT"},
	{Posted, "event", SortEvent, "event EVENT"},
}

// triggerForms lists the forms that a trigger has.
var triggerForms = func() []string {
	var forms []string
	for _, w := range triggerWords {
		forms = append(forms, w.form)
	}
	return forms
}()

func (k TriggerKind) String() string {
	for _, w := range triggerWords {
		if w.kind == k {
			return w.word
		}
	}
	return fmt.Sprintf("TriggerKind(%d)", uint8(k))
}

// Of is the sort of element that triggers of the kind name: a button, an input or
// an event, "" where they name none.
func (k TriggerKind) Of() Sort {
	for _, w := range triggerWords {
		if w.kind == k {
			return w.of
		}
	}
	return ""
}

// Plain is the trigger without its place in a file.
func (t Trigger) Plain() Trigger {
	t.Source = Source{}
	return t
}

// inMilliseconds refuses a time that the machine cannot count.
func (t Trigger) inMilliseconds() error {
	switch t.Kind {
	case Hold:
		return inMilliseconds(t.For, time.Millisecond)
	case After:
		return cmp.Or(inMilliseconds(t.After.Lo, 0), inMilliseconds(t.After.Hi, 0))
	}
	return nil
}

// String writes a trigger as a design file does, for example "press wake" or
// "after 20s..40s".
func (t Trigger) String() string {
	switch t.Kind {
	case Hold:
		return fmt.Sprintf("hold %s for %s", t.Name, FormatDuration(t.For))
	case After:
		return "after " + t.After.String()
	case Done:
		return "done"
	}
	return t.Kind.String() + " " + t.Name
}

// ParseTrigger reads a trigger such as "press wake", "hold wake for 800ms",
// "release wake", "after 20s", "after 20s..40s", "done", "rise tail", "fall tail" or
// "event crowd-near"; words are parted by any run of blanks. It does not know which
// buttons, inputs and events there are. The error is a *ValueError.
func ParseTrigger(s string) (Trigger, error) {
	words := strings.Fields(s)
	if len(words) == 0 {
		return Trigger{}, &ValueError{Wrong: "an empty text is not a trigger", Advice: `write for example "press BUTTON" or "after 20s"`}
	}
	all := make([]string, len(triggerWords))
	for i, w := range triggerWords {
		all[i] = w.word
	}
	i := slices.Index(all, words[0])
	if i < 0 {
		if n := Nearest(words[0], all); n != "" {
			return Trigger{}, instead(fmt.Sprintf("%q is not a trigger", s), strings.Join(append([]string{n}, words[1:]...), " "))
		}
		return Trigger{}, &ValueError{Wrong: fmt.Sprintf("%q is not a trigger", s), Advice: "a trigger begins with " + orList(all)}
	}
	t := Trigger{Kind: triggerWords[i].kind}
	malformed := &ValueError{
		Wrong:  fmt.Sprintf("%q is not a whole trigger", s),
		Advice: fmt.Sprintf("its form is %q", triggerWords[i].form),
	}
	var err error
	switch words = words[1:]; t.Kind {
	case Done:
		if len(words) != 0 {
			return Trigger{}, malformed
		}
	case After:
		if len(words) == 0 {
			return Trigger{}, malformed
		}
		span := strings.Join(words, " ")
		t.After, err = ParseSpan(span)
		if bad, ok := err.(*ValueError); ok && bad.Instead == "" && len(words) > 1 {
			return Trigger{}, malformed
		}
		err = ofPart(err, s, span)
	case Hold:
		if len(words) != 3 || words[1] != "for" {
			return Trigger{}, malformed
		}
		t.Name = words[0]
		t.For, err = ParseDuration(words[2])
		err = ofPart(err, s, words[2])
	default:
		if len(words) != 1 {
			return Trigger{}, malformed
		}
		t.Name = words[0]
	}
	if err != nil {
		return Trigger{}, err
	}
	return t, nil
}

// String writes a source as a design file does: a state's name, "any" or
// "any KIND".
func (f From) String() string {
	if f.State == Any && f.Kind != "" {
		return Any + " " + string(f.Kind)
	}
	return f.State
}

// ParseFrom reads one source of a transition: a state's name, "any", "any
// dormant", "any ambient" or "any performing". It does not know which states
// there are. The error is a *ValueError.
func ParseFrom(s string) (From, error) {
	words := strings.Fields(s)
	switch {
	case s == "*" || s == "all":
		return From{}, instead(fmt.Sprintf("%q is not a source", s), Any)
	case len(words) == 1:
		return From{State: words[0]}, nil
	case len(words) == 2 && words[0] == Any:
		if slices.Contains(StateKinds, StateKind(words[1])) {
			return From{State: Any, Kind: StateKind(words[1])}, nil
		}
		advice := "the kinds are " + orList(texts(StateKinds))
		if n := Nearest(words[1], texts(StateKinds)); n != "" {
			advice = fmt.Sprintf("write %q", Any+" "+n)
		}
		return From{}, &ValueError{Wrong: fmt.Sprintf("%q is not a kind of state", words[1]), Advice: advice}
	}
	return From{}, &ValueError{Wrong: fmt.Sprintf("%q is not a source", s), Advice: `write a state's name, "any" or "any KIND"`}
}

// texts gives words of a named string type as plain strings.
func texts[T ~string](words []T) []string {
	s := make([]string, len(words))
	for i, w := range words {
		s[i] = string(w)
	}
	return s
}
