package card

import (
	"cmp"
	"crypto/sha256"
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

// A Card is what the operator's card says.
type Card struct {
	Title   string
	Stop    string // the stop button
	Rests   string // what pressing it brings about
	Buttons []string
	Rows    []Row    // what a hand on the remote brings about
	Inputs  []Row    // likewise switches, sensors and what the maker's code posts
	Lit     []string // which lights and switches are meant to be on at rest
	Alone   []string // what happens by itself
	Help    []string // what to do where the prop does not answer
	Cares   []string // cautions
	Version string   // which design it is, and the date where one is given
	Checked string   // what was verified, and what was not

	shorter *Card // with fewer cases told apart; nil where none is
	named   *Card // with names for labels that the Go fonts cannot write; nil where none is
}

// A Row is what one act brings about.
type Row struct {
	Act  string   // "wake", "wake, held 800 ms", "tail-switch turns on"
	Says []string // sentences: "At rest: changes to “Wading”."
}

// whens are the kinds of states, in the order of model.StateKinds, as a person
// sees them.
var whens = [3]string{"at rest", "while it idles", "while it performs"}

// most is how many different effects of one act a card tells apart within a
// kind of states.
const most = 3

// help is common practice, no published source.
var help = []string{
	"Point the remote straight at the prop's receiver, with nothing in between, and come closer.",
	"Shade the receiver: the sun and some lamps blind it.",
	"Put fresh batteries into the remote.",
	"See that the prop has power. If nothing helps, switch it off, wait for ten seconds and switch it on again, hands clear.",
}

// New makes the card of a design. It bears the date, whatever its form; none
// with "".
func New(s *check.Study, date string) *Card {
	rests, checked := stopping(s), checked(s)
	version := fmt.Sprintf("design %x", sha256.Sum256(s.Written.Format()))[:len("design ")+8]
	if date != "" {
		version += " · " + date
	}
	of := func(d *model.Design) (c *Card) {
		m := machine.NewMatrix(d)
		for n := 1; n <= most; n++ {
			next := newCard(d, m, n)
			next.Rests, next.Version, next.Checked, next.shorter = rests, version, checked, c
			c = next
		}
		return c
	}
	c := of(s.Design)
	if d, other := named(s.Design); other {
		c.named = of(d)
	}
	return c
}

// named returns a design without the labels that the Go fonts cannot write, and whether
// there were any.
func named(d *model.Design) (n *model.Design, other bool) {
	n = new(*d)
	n.States = slices.Clone(d.States)
	labels := []*string{&n.Prop.Label}
	for i := range n.States {
		labels = append(labels, &n.States[i].Label)
	}
	for _, label := range labels {
		if letters.Missing(model.Visible(*label)) != "" {
			*label, other = "", true
		}
	}
	return n, other
}

// checked says what somebody who has only the card may rely on.
func checked(s *check.Study) string {
	switch found, err := s.Check(check.Rules()); {
	case err != nil:
		return "The design is too large to be checked; nor was the prop tried."
	case found.Count(check.Error) > 0:
		return "The design has errors: do not rely on this card."
	}
	return "Checked: the design. Not tried: the prop itself."
}

// newCard makes a card that tells apart up to told effects within a kind of states.
func newCard(d *model.Design, m *machine.Matrix, told int) *Card {
	c := &Card{Title: d.Prop.Called(), Stop: d.Remote.Stop, Help: help, Cares: gen.Cautions}
	for i := range d.Remote.Buttons {
		c.Buttons = append(c.Buttons, d.Remote.Buttons[i].Name)
	}
	for _, on := range m.Columns() {
		act, ok := actOf(on)
		if !ok {
			continue
		}
		row := Row{Act: act, Says: sentences(d, m, on, told)}
		pressed := func(r Row) bool { return r.Act == on.Name && slices.Equal(r.Says, row.Says) }
		switch i := slices.IndexFunc(c.Rows, pressed); {
		case row.Says == nil:
		case on.Kind == model.Repeated && i >= 0:
			c.Rows[i].Act += ", also kept down"
		case on.Kind.Of() != model.SortButton:
			c.Inputs = append(c.Inputs, row)
		case act == c.Stop: // first, in whatever order the file has the buttons
			c.Rows = slices.Insert(c.Rows, 0, row)
		default:
			c.Rows = append(c.Rows, row)
		}
	}
	c.Lit, c.Alone = append(lit(d), switched(d, m)...), alone(d, m)
	return c
}

// stopping says what the stop button does: what the design promises, or what the check
// finds if that is less.
func stopping(s *check.Study) string {
	const otherwise = " If not: switch the supply off."
	times, err := s.Rest()
	says := "From anywhere it comes to rest"
	switch {
	case err != nil:
		says = "It comes to rest"
	case !times.Stops:
		return "It may not come to rest from everywhere: be ready to switch the supply off."
	case times.Stop > s.Prop.RestWithin && times.Stop > 0:
		unit := 100 * time.Millisecond
		if times.Stop >= 2*time.Minute {
			unit = time.Second
		}
		says += " within " + spoken((times.Stop+unit-1)/unit*unit)
	case s.Prop.RestWithin > 0:
		says += " within " + spoken(s.Prop.RestWithin)
	}
	if stopWakes(s.Design) {
		says += ", but where it rests already this wakes it: press it only while the prop moves"
	}
	return says + "." + otherwise
}

// stopWakes reports whether the stop button leads out of a dormant state.
func stopWakes(d *model.Design) bool {
	m := machine.NewMatrix(d)
	moves := func(state string) bool {
		e, ok := d.Find(model.SortState, state)
		return ok && d.States[e.Index].Kind != model.Dormant
	}
	return slices.ContainsFunc(d.States, func(s model.State) bool {
		c := m.Cell(model.From{State: s.Name}, model.Trigger{Kind: model.Press, Name: d.Remote.Stop})
		return s.Kind == model.Dormant && slices.ContainsFunc(model.Targets(c.To), moves)
	})
}

// lit says which lights and switches the poses of dormant states turn on, a line for
// each set of them: nobody need wait for those to go out.
func lit(d *model.Design) []string {
	var lines []string
	where := map[string][]*model.State{} // by what is on
	dormant := 0
	for i := range d.States {
		s := &d.States[i]
		if s.Kind != model.Dormant {
			continue
		}
		dormant++
		var on []string
		for _, p := range s.Pose {
			if lit, _ := d.Output(p.Output).Lit(p.Action); lit && !slices.Contains(on, p.Output) {
				on = append(on, p.Output)
			}
		}
		if on == nil {
			continue
		}
		what := strings.Join(on, ", ") + ": on, as is meant."
		if where[what] == nil {
			lines = append(lines, what)
		}
		where[what] = append(where[what], s)
	}
	for i, what := range lines {
		switch states := where[what]; {
		case len(states) == dormant:
		case len(states) > most:
			lines[i] = fmt.Sprintf("In %d states, %s", len(states), what)
		default:
			lines[i] = "While " + scenes(d, states) + ", " + what
		}
	}
	return lines
}

// switched says which lights and switches a hand turns on or off in a dormant state.
func switched(d *model.Design, m *machine.Matrix) []string {
	var names []string
	for i := range d.States {
		if d.States[i].Kind != model.Dormant {
			continue
		}
		row := model.From{State: d.States[i].Name}
		for _, on := range m.Columns() {
			c := m.Cell(row, on)
			if c.Do == "" {
				continue
			}
			for _, or := range d.Transitions[c.Said[0].Transition].Do {
				o := d.Output(or.Output)
				if lit, _ := o.Lit(or.Action); (or.Toggle || lit) && !slices.Contains(names, o.Name) {
					names = append(names, o.Name)
				}
			}
		}
	}
	if names == nil {
		return nil
	}
	return []string{strings.Join(names, ", ") + ": on or off, as last turned by hand."}
}

// actOf says what a hand does; false for what happens by itself.
func actOf(on model.Trigger) (string, bool) {
	switch on.Kind {
	case model.Press:
		return on.Name, true
	case model.Hold:
		return on.Name + ", held " + spoken(on.For), true
	case model.Repeated:
		return on.Name + ", kept down", true
	case model.Release:
		return on.Name + ", let go", true
	case model.Rise:
		return on.Name + " turns on", true
	case model.Fall:
		return on.Name + " turns off", true
	case model.Posted:
		return on.Name + " is noticed", true
	}
	return "", false
}

// sentences say what an event does, telling apart as many effects as told within
// a kind of states.
func sentences(d *model.Design, m *machine.Matrix, on model.Trigger, told int) []string {
	var all []said
	for i, k := range model.StateKinds {
		for _, x := range inKind(d, m, k, on, told) {
			when := whens[i]
			if x.when != "" {
				when = x.when
			}
			if n := len(all) - 1; n >= 0 && all[n].effect == x.effect {
				all[n].when += " or " + when
			} else {
				all = append(all, said{when, x.effect})
			}
		}
	}
	var lines []string
	for _, x := range all {
		lines = append(lines, capital(x.when)+": "+x.effect+".")
	}
	return lines
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// A said is an effect and in which states it is seen: "" in all of a kind.
type said struct{ when, effect string }

// inKind says what an event does in the states of a kind.
func inKind(d *model.Design, m *machine.Matrix, k model.StateKind, on model.Trigger, told int) []said {
	var effects []string
	where := map[string][]*model.State{}
	states := 0
	for i := range d.States {
		s := &d.States[i]
		if s.Kind != k {
			continue
		}
		states++
		e := effect(d, s, on, m.Cell(model.From{State: s.Name}, on))
		if where[e] == nil {
			effects = append(effects, e)
		}
		where[e] = append(where[e], s)
	}
	effects = slices.DeleteFunc(effects, func(e string) bool { return e == "" })
	if len(effects) > told {
		return []said{{effect: fmt.Sprintf("does one of %d things, depending on what it is doing", len(effects))}}
	}
	var all []said
	for _, e := range effects {
		when := ""
		switch in := where[e]; {
		case len(in) == states:
		case len(effects) == 1 && 2*len(in) > states:
			e += ", mostly"
		case len(in) > most:
			when = fmt.Sprintf("in %d states", len(in))
		default:
			when = "while " + scenes(d, in)
		}
		all = append(all, said{when, e})
	}
	return all
}

// scene returns a state as an onlooker knows it: by its label, or by the routine that it
// performs, which other states may perform too.
func scene(s *model.State) string {
	label := model.Visible(s.Label)
	if s.Kind == model.Performing {
		label = cmp.Or(label, s.Plays)
	}
	return cmp.Or(label, s.Name)
}

// scenes describes states as an onlooker knows them, with their names if others look the
// same.
func scenes(d *model.Design, states []*model.State) string {
	var all []string
	for _, s := range states {
		x := scene(s)
		for i := range d.States {
			if other := &d.States[i]; scene(other) == x && !slices.Contains(states, other) && x != s.Name {
				x += " (" + s.Name + ")"
				break
			}
		}
		if x = "“" + x + "”"; !slices.Contains(all, x) {
			all = append(all, x)
		}
	}
	return strings.Join(all, ", ")
}

// effect says what an event brings about in a state, "" where nothing.
func effect(d *model.Design, s *model.State, on model.Trigger, c machine.Cell) string {
	switch {
	case (c.Unsaid() || c.Ignore) && s.Kind == model.Dormant && on.Kind == model.Press && on.Name == d.Remote.Stop:
		return "stays at rest"
	case c.Unsaid() || c.Ignore:
		return ""
	case c.Do != "":
		return ordered(d, &d.Transitions[c.Said[0].Transition])
	case c.To == model.Back && c.Defer:
		return "goes on as before once this has ended"
	case c.To == model.Back:
		return "stops this, and goes on as before"
	case c.To == s.Name && !c.Defer && s.Kind == model.Dormant:
		return "stays at rest"
	case c.To == s.Name && !c.Defer:
		return "begins again"
	}
	text := leadsTo(d, c.To)
	if c.Defer {
		text += " once this has ended"
	}
	return text
}

// ordered says what is seen of a transition's orders.
func ordered(d *model.Design, t *model.Transition) string {
	var all []string
	for i := range t.Do {
		or := &t.Do[i]
		o, verb := d.Output(or.Output), "uses %s"
		lit, onOff := o.Lit(or.Action)
		switch {
		case o.Kind == model.KindServo && or.By != 0:
			verb = "moves %s a little"
		case o.Kind == model.KindServo:
			verb = "moves %s to " + or.To.String()
		case or.Toggle:
			verb = "turns %s on or off"
		case onOff && lit:
			verb = "turns %s on"
		case onOff:
			verb = "turns %s off"
		case o.Kind == model.KindPulse:
			verb = "triggers %s"
		case or.Said == "stop":
			verb = "silences %s"
		case strings.HasPrefix(or.Said, "volume"):
			verb = "sets %s to " + or.Said
		case or.Said != "": // or softer, perhaps by several steps
			way, _, _ := strings.Cut(or.Said, " ")
			verb = "makes %s " + way
		case o.Kind == model.KindMessage:
			verb = "has %s do “" + or.Send + "”"
		}
		if text := fmt.Sprintf(verb, o.Name); !slices.Contains(all, text) {
			all = append(all, text)
		}
	}
	return strings.Join(all, ", ")
}

// leadsTo says what is seen when a state is entered, or one of several.
func leadsTo(d *model.Design, target string) string {
	var ways []string
	last := ""
	for _, name := range model.Targets(target) {
		e, ok := d.Find(model.SortState, name)
		if !ok {
			continue
		}
		to := &d.States[e.Index]
		verb := map[model.StateKind]string{
			model.Dormant: "comes to rest, ", model.Ambient: "changes to ", model.Performing: "performs ",
		}[to.Kind]
		way := "“" + scene(to) + "”"
		if verb != last { // not to be said twice
			way = verb + way
		}
		if last = verb; !slices.Contains(ways, way) {
			ways = append(ways, way)
		}
	}
	choice, _ := model.ParseChoice(target)
	switch {
	case len(ways) < 2:
		return strings.Join(ways, "")
	case choice.InTurn:
		return strings.Join(ways, ", the next time ")
	}
	return strings.Join(ways, " or ") + ", as chance has it"
}

// alone says what happens by itself, a line for each way.
func alone(d *model.Design, m *machine.Matrix) []string {
	var lines []string
	ways := map[string][]*model.State{} // by what happens, where
	for i := range d.States {
		s := &d.States[i]
		for _, on := range m.Timers(model.From{State: s.Name}) {
			c := m.Cell(model.From{State: s.Name}, on)
			e := effect(d, s, on, c)
			if e == "" {
				continue
			}
			how := fmt.Sprintf("after %s: %s", spokenSpan(on.After), e)
			if ways[how] == nil {
				lines = append(lines, how)
			}
			ways[how] = append(ways[how], s)
		}
	}
	for i, how := range lines {
		where := ways[how]
		if len(where) > most {
			lines[i] = fmt.Sprintf("In %d states, %s.", len(where), how)
			continue
		}
		lines[i] = capital("while "+scenes(d, where)) + ", " + how + "."
	}
	if len(lines) > 5 {
		lines = append(lines[:4], fmt.Sprintf("And %d more ways.", len(lines)-4))
	}
	return lines
}

// spoken writes a time as people say it; number and unit stay together.
func spoken(d time.Duration) string {
	words := strings.Fields(model.SayDuration(d))
	for i, w := range words {
		for _, u := range []struct{ unit, word string }{{"ms", "\u00a0ms"}, {"us", "\u00a0µs"}, {"s", "\u00a0s"}, {"m", "\u00a0min"}} {
			if n, ok := strings.CutSuffix(w, u.unit); ok {
				words[i] = n + u.word
				break
			}
		}
	}
	return strings.Join(words, " ")
}

func spokenSpan(s model.Span) string {
	if s.Lo == s.Hi {
		return spoken(s.Lo)
	}
	return spoken(s.Lo) + " to " + spoken(s.Hi)
}
