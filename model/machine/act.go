package machine

import (
	"fmt"
	"strings"
	"time"

	"propwright/model"
)

// ActKind is what is done to a prop from outside.
type ActKind uint8

const (
	ActPress ActKind = iota + 1 // press a button and let it go at once
	ActHold                     // keep a button down for a while; without a time, from now on
	ActLetGo                    // end an ActHold without a time
	ActRise                     // an input becomes active
	ActFall                     // an input becomes inactive
	ActEvent                    // the maker's code posts an event
	ActWait                     // let time pass
)

var actWords = [...]string{ActPress: "press", ActHold: "hold", ActLetGo: "let go", ActRise: "rise", ActFall: "fall", ActEvent: "event", ActWait: "wait"}

// An Act is one thing done to a prop from outside, or the time until the next.
type Act struct {
	Kind ActKind
	Name string        // the button's, the input's or the event's
	For  time.Duration // of ActWait and ActHold; whole milliseconds
}

// String writes an act as ParseAct reads it.
func (a Act) String() string {
	switch a.Kind {
	case ActWait:
		return "wait " + model.FormatDuration(a.For)
	case ActHold:
		if a.For > 0 {
			return "hold " + a.Name + " for " + model.FormatDuration(a.For)
		}
	case ActPress, ActLetGo, ActRise, ActFall, ActEvent:
	default:
		return fmt.Sprintf("Act(%d)", a.Kind)
	}
	return actWords[a.Kind] + " " + a.Name
}

// Tell writes acts for people, with commas between them. One that comes three
// times in a row or more is written once: "press next, 9,998 times".
func Tell(acts []Act) string {
	var words []string
	for len(acts) > 0 {
		n := 1
		for n < len(acts) && acts[n] == acts[0] {
			n++
		}
		word := acts[0].String()
		if n < 3 {
			n = 1
		} else {
			word += fmt.Sprintf(", %s times", model.FormatCount(n))
		}
		words = append(words, word)
		acts = acts[n:]
	}
	return strings.Join(words, ", ")
}

// MarshalText is String.
func (a Act) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalText is ParseAct.
func (a *Act) UnmarshalText(text []byte) (err error) {
	*a, err = ParseAct(string(text))
	return err
}

// ParseAct reads an act: "press wake", "hold wake for 900ms", "hold wake" and
// later "let go wake", "rise tail-switch", "fall tail-switch", "event crowd-near", "wait 20s". The
// error says what is wrong and what to write.
func ParseAct(s string) (Act, error) {
	words := strings.Fields(s)
	if len(words) == 0 {
		return Act{}, fmt.Errorf("there is nothing here; write for example %q or %q", "press wake", "wait 20s")
	}
	form := func(example string) (Act, error) {
		return Act{}, fmt.Errorf("%q is not complete or has a word too many; write for example %q", s, example)
	}
	switch words[0] {
	case "press", "rise", "fall", "event":
		kind := map[string]ActKind{"press": ActPress, "rise": ActRise, "fall": ActFall, "event": ActEvent}[words[0]]
		if len(words) != 2 {
			return form(words[0] + " " + map[ActKind]string{ActPress: "wake", ActRise: "tail-switch", ActFall: "tail-switch", ActEvent: "crowd-near"}[kind])
		}
		return Act{Kind: kind, Name: words[1]}, nil
	case "hold":
		if len(words) == 2 {
			return Act{Kind: ActHold, Name: words[1]}, nil
		}
		if len(words) != 4 || words[2] != "for" {
			return form("hold wake for 900ms")
		}
		d, err := parseTime(words[3])
		if err == nil && d == 0 {
			err = fmt.Errorf("%q holds for no time; write \"press %s\"", s, words[1])
		}
		return Act{Kind: ActHold, Name: words[1], For: d}, err
	case "let":
		if len(words) != 3 || words[1] != "go" {
			return form("let go wake")
		}
		return Act{Kind: ActLetGo, Name: words[2]}, nil
	case "wait":
		if len(words) != 2 {
			return form("wait 20s")
		}
		d, err := parseTime(words[1])
		return Act{Kind: ActWait, For: d}, err
	}
	near := model.Nearest(words[0], []string{"press", "hold", "let", "rise", "fall", "event", "wait"})
	if words[0] == "release" { // a trigger's word
		near = "let go"
	}
	if near != "" {
		return Act{}, fmt.Errorf("unknown act %q; write %q", words[0], strings.Join(append([]string{near}, words[1:]...), " "))
	}
	return Act{}, fmt.Errorf("unknown act %q; an act begins with press, hold, let go, rise, fall, event or wait", words[0])
}

func parseTime(s string) (time.Duration, error) {
	d, err := model.ParseDuration(s)
	switch {
	case err != nil:
		return 0, err
	case d < 0 || d > MaxTime:
		return 0, fmt.Errorf("the time %s is out of range; give one from 0 to 24 days", s)
	case d%time.Millisecond != 0:
		return 0, fmt.Errorf("the time %s is not in whole milliseconds; write %q", s, model.FormatDuration(d.Round(time.Millisecond)))
	}
	return d, nil
}
