package model

import (
	"fmt"
	"regexp"
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
	p := newRequireParser(s)
	q := p.requirement()
	if p.err != nil {
		return Requirement{}, p.err
	}
	return q, nil
}

func (p *requireParser) requirement() (q Requirement) {
	switch p.peek() {
	case "":
		p.fail("the requirement says nothing", "write for example \""+requireForms[Reachable]+"\"; the forms are "+quotedList(RequireForms))
	case "reachable":
		p.form, q.Form = Reachable, Reachable
		p.next()
		q.State = p.name("a state", SortState)
	case "from":
		p.form, q.Form = EndsIn, EndsIn
		p.next()
		q.From = p.name("a state", SortState)
		p.word("press")
		q.Press = p.buttons()
		p.word("ends")
		p.word("in")
		q.State = p.name("a state", SortState)
	default:
		p.form, q.Form = Within, Within
		if p.peek() == "never" {
			p.form, q.Form = Never, Never
			p.next()
		}
		first := p.peek()
		if slices.Contains(StateKinds, StateKind(first)) {
			q.Kind = StateKind(p.next())
		} else {
			q.State = p.name("a state or a kind", SortState)
		}
		if next := p.peek(); p.form == Within && next != "" && next != "within" {
			// Neither a form's first word nor a state with `within` behind it.
			if near := Nearest(first, []string{"reachable", "never", "from"}); near != "" {
				p.fail(fmt.Sprintf("%q begins no requirement", first), fmt.Sprintf("write %q", near))
			}
		}
		p.word("within")
		q.Time = p.time()
		p.word("after")
		q.After = p.event()
	}
	if rest := p.peek(); rest != "" {
		p.fail(fmt.Sprintf("%q stands behind a whole requirement", rest), "leave it out")
	}
	return q
}

// A requireParser reads words; after an error it reads on without effect.
type requireParser struct {
	text  string
	words [][]int // where those ahead begin and end
	form  RequireForm
	named []namedWord
	err   *ValueError
}

// A namedWord is a word that names an element.
type namedWord struct {
	sort     Sort
	from, to int
}

// requireWords are commas and what is between commas and blanks.
var requireWords = regexp.MustCompile(`,|[^,\s\v\x{85}\p{Z}]+`)

func newRequireParser(s string) *requireParser {
	return &requireParser{text: s, words: requireWords.FindAllStringIndex(s, -1)}
}

func (p *requireParser) fail(wrong, advice string) {
	if p.err == nil {
		p.err = &ValueError{Wrong: wrong, Advice: advice}
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
	return p.text[p.words[0][0]:p.words[0][1]]
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

// name reads the name of an element; what says in a sentence which is wanted.
func (p *requireParser) name(what string, sort Sort) string {
	switch w := p.peek(); w {
	case "", ",":
		p.malformed()
	case Any, Back:
		p.fail(fmt.Sprintf("%q stands where %s is wanted", w, what), "name it: a requirement speaks of one")
	default:
		p.names(p.words[0], sort)
	}
	return p.next()
}

// names notes that a word names an element.
func (p *requireParser) names(word []int, sort Sort) {
	p.named = append(p.named, namedWord{sort, word[0], word[1]})
}

// buttons reads names parted by commas.
func (p *requireParser) buttons() []string {
	names := []string{p.name("a button", SortButton)}
	for {
		switch w := p.peek(); {
		case w == ",":
			p.next()
			names = append(names, p.name("a button", SortButton))
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
	ahead, words := p.words, []string(nil)
	for len(p.words) > 0 {
		words = append(words, p.next())
	}
	t, err := ParseTrigger(strings.Join(words, " "))
	if err == nil {
		err = t.inMilliseconds()
	}
	if sort := t.Kind.Of(); sort != "" {
		p.names(ahead[1], sort)
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
func requirement(text *string) codec {
	c := oneLine(text)
	c.holds, c.forms = func() string { return "a requirement" }, RequireForms
	c.mentions = func() []mention {
		p := newRequireParser(*text)
		if p.requirement(); p.err != nil {
			return nil
		}
		var ms []mention
		for _, w := range p.named {
			ms = append(ms, mention{scope: scope{sort: w.sort}, name: p.text[w.from:w.to], set: func(name string) {
				*text = (*text)[:w.from] + name + (*text)[w.to:]
			}})
		}
		return ms
	}
	plain := c.read
	c.read = func(r *reader, v *value) {
		before := len(r.faults)
		if plain(r, v); len(r.faults) > before {
			return
		}
		if _, err := ParseRequirement(*text); r.refuse(v.Pos, err) {
			r.known(v.Pos, c.mentions()...)
		}
	}
	return c
}
