package card

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"propwright/gen"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"
)

// A Card is what the operator's card says.
type Card struct {
	Title   string
	Stop    string // the stop button
	Rests   string // what pressing it brings about
	Buttons []string
	Rows    []Row
	States  []string // what the states' names mean to an onlooker
	Lit     []string // which lights and switches are meant to be on at rest
	Alone   []string // what happens by itself
	Cares   []string // cautions

	shorter *Card // with fewer cases told apart; nil where none is
}

// A Row is what one thing that a hand can do brings about.
type Row struct {
	Act string // "wake", "wake, held 800ms", "tail-switch on"
	// In says it for each kind of state, in the order of model.StateKinds:
	// "" where nothing happens.
	In [3]string
}

// Heads are the words for the kinds of states, in the order of
// model.StateKinds, as a person sees them.
var Heads = [3]string{"at rest", "idling", "performing"}

// most is how many different effects of one act a card tells apart within a
// kind of states.
const most = 3

// New makes the card of a design.
func New(s *check.Study) *Card {
	var c *Card
	m, rests := machine.NewMatrix(s.Design), stopping(s)
	for n := 1; n <= most; n++ {
		next := newCard(s.Design, m, n)
		next.Rests, next.shorter = rests, c
		c = next
	}
	return c
}

// newCard tells apart as many effects as told within a kind of states.
func newCard(d *model.Design, m *machine.Matrix, told int) *Card {
	c := &Card{Title: d.Prop.Called(), Stop: d.Remote.Stop, Cares: gen.Cautions}
	for i := range d.Remote.Buttons {
		c.Buttons = append(c.Buttons, d.Remote.Buttons[i].Name)
	}
	for _, on := range m.Columns() {
		act, ok := actOf(on)
		if !ok {
			continue
		}
		r := Row{Act: act}
		for i, k := range model.StateKinds {
			r.In[i] = inKind(d, m, k, on, told)
			if k == model.Dormant && act == c.Stop && staysAtRest(d, m, on) {
				r.In[i] = "stays at rest"
			}
		}
		if r.In != [3]string{} {
			c.Rows = append(c.Rows, r)
		}
	}
	// The stop button comes first, in whatever order the file has them.
	slices.SortStableFunc(c.Rows, func(a, b Row) int { return first(a, c.Stop) - first(b, c.Stop) })
	c.Lit, c.Alone = lit(d), alone(d, m)
	named := c.words()
	for i := range d.States {
		s := &d.States[i]
		if label := model.Visible(s.Label); label != "" && s.Kind != model.Performing && named[s.Name] {
			c.States = append(c.States, s.Name+": "+label)
		}
	}
	return c
}

// stopping says what comes of the stop button: what the design promises, or
// what the check finds where that is less.
func stopping(s *check.Study) string {
	const otherwise = " If not: switch the supply off."
	times, err := s.Rest()
	switch {
	case err != nil:
		return "It comes to rest." + otherwise
	case !times.Stops:
		return "It may not come to rest from everywhere: be ready to switch the supply off."
	case times.Stop > s.Prop.RestWithin && times.Stop > 0:
		tenth := 100 * time.Millisecond
		return "From anywhere it comes to rest within " + spoken((times.Stop+tenth-1)/tenth*tenth) + "." + otherwise
	case s.Prop.RestWithin == 0:
		return "From anywhere it comes to rest." + otherwise
	}
	return "From anywhere it comes to rest within " + spoken(s.Prop.RestWithin) + "." + otherwise
}

// lit says which lights and switches the poses of dormant states turn on, a line for
// each set of them: nobody need wait for those to go out.
func lit(d *model.Design) []string {
	var lines []string
	where := map[string][]string{} // by what is on, in which states
	dormant := 0
	for i := range d.States {
		s := &d.States[i]
		if s.Kind != model.Dormant {
			continue
		}
		dormant++
		var on []string
		for _, p := range s.Pose {
			if shines(d.Output(p.Output), p.Action) && !slices.Contains(on, p.Output) {
				on = append(on, p.Output)
			}
		}
		if on == nil {
			continue
		}
		what := strings.Join(on, ", ") + ": on, as is meant"
		if where[what] == nil {
			lines = append(lines, what)
		}
		where[what] = append(where[what], s.Name)
	}
	for i, what := range lines {
		switch states := where[what]; {
		case len(states) == dormant:
		case len(states) > most:
			lines[i] = fmt.Sprintf("in %d states, %s", len(states), what)
		default:
			lines[i] = "in " + strings.Join(states, ", ") + ", " + what
		}
	}
	return lines
}

// shines reports whether what a pose asks for leaves a switch or a light on.
func shines(o *model.Output, a model.Action) bool {
	switch o.Kind {
	case model.KindSwitch:
		return a.Set
	case model.KindPixels:
		end := a.Colour
		if a.Effect == model.EffectFade || a.Effect.Cycles() && end == (model.Colour{}) {
			end = a.Colour2
		}
		return end != model.Colour{}
	}
	return false
}

// staysAtRest reports whether an event leads from dormant states to dormant
// states only.
func staysAtRest(d *model.Design, m *machine.Matrix, on model.Trigger) bool {
	dormant := map[string]bool{}
	for i := range d.States {
		dormant[d.States[i].Name] = d.States[i].Kind == model.Dormant
	}
	for i := range d.States {
		s := &d.States[i]
		if s.Kind != model.Dormant {
			continue
		}
		if c := m.Cell(model.From{State: s.Name}, on); !c.Unsaid() && !c.Ignore && !dormant[c.To] {
			return false
		}
	}
	return true
}

// words are those on the card, which it has to explain.
func (c *Card) words() map[string]bool {
	all := map[string]bool{}
	add := func(text string) {
		for _, w := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;:", r) }) {
			all[w] = true
		}
	}
	for _, r := range c.Rows {
		for _, text := range r.In {
			add(text)
		}
	}
	for _, text := range slices.Concat(c.Lit, c.Alone) {
		add(text)
	}
	return all
}

func first(r Row, stop string) int {
	if r.Act == stop {
		return 0
	}
	return 1
}

// actOf says what a hand does; false for what happens by itself.
func actOf(on model.Trigger) (string, bool) {
	switch on.Kind {
	case model.Press:
		return on.Name, true
	case model.Hold:
		return on.Name + ", held " + spoken(on.For), true
	case model.Release:
		return on.Name + ", let go", true
	case model.Rise:
		return on.Name + " on", true
	case model.Fall:
		return on.Name + " off", true
	}
	return "", false
}

// inKind says what an event does in the states of a kind, telling apart as
// many effects as told.
func inKind(d *model.Design, m *machine.Matrix, k model.StateKind, on model.Trigger, told int) string {
	var effects []string
	where := map[string][]string{}
	states := 0
	for i := range d.States {
		s := &d.States[i]
		if s.Kind != k {
			continue
		}
		states++
		e := effect(d, s, m.Cell(model.From{State: s.Name}, on))
		if where[e] == nil {
			effects = append(effects, e)
		}
		where[e] = append(where[e], s.Name)
	}
	switch {
	case states == 0:
		return ""
	case len(effects) == 1:
		return effects[0]
	}
	some := slices.DeleteFunc(slices.Clone(effects), func(e string) bool { return e == "" })
	if len(some) > told {
		return fmt.Sprintf("one of %d things, by where it is", len(some))
	}
	var parts []string
	for _, e := range some {
		switch names := where[e]; {
		case len(some) == 1 && 2*len(names) > states:
			parts = append(parts, e+" (mostly)")
		case len(names) > most:
			parts = append(parts, fmt.Sprintf("in %d states: %s", len(names), e))
		default:
			parts = append(parts, strings.Join(names, ", ")+": "+e)
		}
	}
	return strings.Join(parts, "; ")
}

// effect says what a cell brings about, "" where nothing.
func effect(d *model.Design, s *model.State, c machine.Cell) string {
	if c.Unsaid() || c.Ignore {
		return ""
	}
	text := ""
	switch {
	case c.To == model.Back:
		text = "stops, and idles on"
		if c.Defer {
			return "idles on, at the end"
		}
	case c.To == s.Name && !c.Defer:
		text = "starts again"
		if s.Kind == model.Dormant {
			text = "stays"
		}
	default:
		text = stateWords(d, c.To)
	}
	if c.Defer {
		text += ", when this ends"
	}
	return text
}

// stateWords is a state in words for people. States that rest or idle keep
// their names, which the card explains.
func stateWords(d *model.Design, name string) string {
	for i := range d.States {
		s := &d.States[i]
		if s.Name != name || s.Kind != model.Performing {
			continue
		}
		if label := model.Visible(s.Label); label != "" {
			return label
		}
		if s.Plays != "" {
			return "plays " + s.Plays
		}
	}
	return name
}

// alone says what happens by itself, a line for each way.
func alone(d *model.Design, m *machine.Matrix) []string {
	var lines []string
	ways := map[string][]string{} // by what happens, where
	for i := range d.States {
		s := &d.States[i]
		for _, on := range m.Timers(model.From{State: s.Name}) {
			c := m.Cell(model.From{State: s.Name}, on)
			e := effect(d, s, c)
			if e == "" {
				continue
			}
			how := fmt.Sprintf("after %s: %s", spokenSpan(on.After), e)
			if ways[how] == nil {
				lines = append(lines, how)
			}
			ways[how] = append(ways[how], s.Name)
		}
	}
	for i, how := range lines {
		where := ways[how]
		if len(where) > most {
			lines[i] = fmt.Sprintf("in %d states, %s", len(where), how)
			continue
		}
		lines[i] = "in " + strings.Join(where, ", ") + ", " + how
	}
	if len(lines) > 5 {
		lines = append(lines[:4], fmt.Sprintf("and %d more ways", len(lines)-4))
	}
	return lines
}

// spoken writes a time as people say it; number and unit stay together.
func spoken(d time.Duration) string {
	s := model.FormatDuration(d)
	for _, u := range []struct{ unit, word string }{{"ms", "\u00a0ms"}, {"us", "\u00a0µs"}, {"s", "\u00a0s"}, {"m", "\u00a0min"}} {
		if n, ok := strings.CutSuffix(s, u.unit); ok {
			return n + u.word
		}
	}
	return s
}

func spokenSpan(s model.Span) string {
	if s.Lo == s.Hi {
		return spoken(s.Lo)
	}
	return spoken(s.Lo) + " to " + spoken(s.Hi)
}
