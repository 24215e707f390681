package model

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// RequireForm is one of the forms that a requirement has.
type RequireForm uint8

const (
	Reachable RequireForm = iota + 1 // reachable STATE
	Never                            // never STATE|KIND within T after EVENT
	Within                           // STATE|KIND within T after EVENT
	EndsIn                           // from STATE press A, B, C ends in STATE
)

// requireForms gives each form as the documentation writes it.
var requireForms = []string{
	Reachable: "reachable STATE",
	Never:     "never STATE|KIND within T after EVENT",
	Within:    "STATE|KIND within T after EVENT",
	EndsIn:    "from STATE press A, B, C ends in STATE",
}

// RequireForms lists the forms as the documentation writes them.
var RequireForms = requireForms[1:]

func (f RequireForm) String() string {
	if int(f) < len(requireForms) && f > 0 {
		return requireForms[f]
	}
	return fmt.Sprintf("RequireForm(%d)", uint8(f))
}

// A Requirement is what the text of a Require says. Which fields are
// meaningful depends on Form; the others are zero.
type Requirement struct {
	Form  RequireForm
	State string        // Reachable, EndsIn; Never and Within where they name no kind
	Kind  StateKind     // Never, Within
	Time  time.Duration // Never, Within: T, whole milliseconds
	After Trigger       // Never, Within: EVENT
	From  string        // EndsIn: the state in which the buttons are pressed
	Press []string      // EndsIn: the buttons, in order
}

// String writes a requirement as ParseRequirement reads it.
func (q Requirement) String() string {
	what := q.State
	if q.Kind != "" {
		what = string(q.Kind)
	}
	switch q.Form {
	case Reachable:
		return "reachable " + what
	case Never, Within:
		s := fmt.Sprintf("%s within %s after %s", what, FormatDuration(q.Time), q.After)
		if q.Form == Never {
			return "never " + s
		}
		return s
	case EndsIn:
		return fmt.Sprintf("from %s press %s ends in %s", q.From, strings.Join(q.Press, ", "), what)
	}
	return q.Form.String()
}

// mostPresses is how many presses a requirement names at most: as many as the
// machine's queue holds, so that no sequence is longer than what a prop can be
// given at once.
const mostPresses = 8

// ParseRequirement reads a requirement; words are parted by any run of
// blanks, buttons by commas. A word dormant, ambient or performing in place of
// a state is a kind, also where a state has that name. It does not know which
// states, buttons and inputs there are. The error is a *ValueError.
func ParseRequirement(s string) (Requirement, error) {
	p := requireParser{text: s, words: strings.Fields(strings.ReplaceAll(s, ",", " , "))}
	var q Requirement
	switch p.peek() {
	case "":
		return q, &ValueError{"the requirement says nothing", "write for example \"" + requireForms[Reachable] + "\"; the forms are " + quotedList(RequireForms)}
	case "reachable":
		p.form, q.Form = Reachable, Reachable
		p.next()
		q.State = p.name("a state")
	case "from":
		p.form, q.Form = EndsIn, EndsIn
		p.next()
		q.From = p.name("a state")
		p.word("press")
		q.Press = p.buttons()
		p.word("ends")
		p.word("in")
		q.State = p.name("a state")
	default:
		p.form, q.Form = Within, Within
		if p.peek() == "never" {
			p.form, q.Form = Never, Never
			p.next()
		}
		if p.form == Within && len(p.words) > 1 && p.words[1] != "within" {
			// Neither a form's first word nor a state with `within` behind it.
			if near := Nearest(p.words[0], []string{"reachable", "never", "from"}); near != "" {
				p.fail(fmt.Sprintf("%q begins no requirement", p.words[0]), fmt.Sprintf("write %q", near))
			}
		}
		q.State = p.name("a state or a kind")
		if slices.Contains(StateKinds, StateKind(q.State)) {
			q.Kind, q.State = StateKind(q.State), ""
		}
		p.word("within")
		q.Time = p.time()
		p.word("after")
		q.After = p.event()
	}
	if rest := p.peek(); rest != "" {
		p.fail(fmt.Sprintf("%q stands behind a whole requirement", rest), "leave it out")
	}
	if p.err != nil {
		return Requirement{}, p.err
	}
	return q, nil
}

// A requireParser reads words; after an error it reads on without effect.
type requireParser struct {
	text  string
	words []string
	form  RequireForm
	err   *ValueError
}

func (p *requireParser) fail(wrong, advice string) {
	if p.err == nil {
		p.err = &ValueError{wrong, advice}
	}
}

// malformed fails where no nearest spelling is known.
func (p *requireParser) malformed() {
	if p.form == Within {
		p.fail(fmt.Sprintf("%q is not a requirement", p.text), "the forms are "+quotedList(RequireForms))
		return
	}
	p.fail(fmt.Sprintf("%q is not a whole requirement", p.text), fmt.Sprintf("its form is %q", p.form))
}

// peek is the next word, "" at the end.
func (p *requireParser) peek() string {
	if len(p.words) == 0 {
		return ""
	}
	return p.words[0]
}

func (p *requireParser) next() string {
	w := p.peek()
	if w != "" {
		p.words = p.words[1:]
	}
	return w
}

// word reads a word of the form.
func (p *requireParser) word(want string) {
	got := p.next()
	switch {
	case got == want:
	case got != "" && Nearest(got, []string{want}) != "":
		p.fail(fmt.Sprintf("%q stands where %q is wanted", got, want), fmt.Sprintf("write %q", want))
	default:
		p.malformed()
	}
}

func (p *requireParser) name(what string) string {
	w := p.next()
	switch {
	case w == "" || w == ",":
		p.malformed()
	case w == Any || w == Back:
		p.fail(fmt.Sprintf("%q stands where %s is wanted", w, what), "name it: a requirement speaks of one")
	}
	return w
}

// buttons reads names parted by commas.
func (p *requireParser) buttons() []string {
	names := []string{p.name("a button")}
	for {
		switch w := p.peek(); {
		case w == ",":
			p.next()
			names = append(names, p.name("a button"))
		case w == "" || w == "ends" || Nearest(w, []string{"ends"}) != "" || p.err != nil:
			if len(names) > mostPresses {
				p.fail(fmt.Sprintf("the requirement presses %d buttons", len(names)), fmt.Sprintf("press %d at most, or make two requirements of it", mostPresses))
			}
			return names
		default:
			p.fail(fmt.Sprintf("no comma stands between %q and %q", names[len(names)-1], w), fmt.Sprintf("write \"%s, %s\"", names[len(names)-1], w))
		}
	}
}

func (p *requireParser) time() time.Duration {
	w := p.next()
	if w == "" {
		p.malformed()
		return 0
	}
	d, err := ParseDuration(w)
	if err == nil {
		err = inMilliseconds(d, 0)
	}
	p.check(err)
	return d
}

// event reads a trigger to the end of the text.
func (p *requireParser) event() Trigger {
	if p.peek() == "" {
		p.malformed()
		return Trigger{}
	}
	t, err := ParseTrigger(strings.Join(p.words, " "))
	p.words = nil
	if err == nil && t.Kind == Hold {
		err = inMilliseconds(t.For, time.Millisecond)
	}
	if err == nil && t.Kind == After {
		if err = inMilliseconds(t.After.Lo, 0); err == nil {
			err = inMilliseconds(t.After.Hi, 0)
		}
	}
	p.check(err)
	return t
}

func (p *requireParser) check(err error) {
	if e, ok := err.(*ValueError); ok {
		p.fail(e.Wrong, e.Advice)
	}
}

// requirement is the text of a requirement, whose names must be there.
func requirement(p *string) codec {
	c := oneLine(p).hold(text("a requirement"))
	c.forms = RequireForms
	plain := c.read
	c.read = func(r *reader, v *value) {
		before := len(r.faults)
		plain(r, v)
		if len(r.faults) > before {
			return
		}
		q, err := ParseRequirement(*p)
		if !r.refuse(v.Pos, err) {
			return
		}
		for _, s := range []string{q.From, q.State} {
			if s != "" {
				r.known(v.Pos, s, r.names[SortState])
			}
		}
		for _, b := range q.Press {
			r.known(v.Pos, b, r.names[SortButton])
		}
		switch q.After.Kind {
		case Press, Hold, Release:
			r.known(v.Pos, q.After.Name, r.names[SortButton])
		case Rise, Fall:
			r.known(v.Pos, q.After.Name, r.names[SortInput])
		}
	}
	return c
}
