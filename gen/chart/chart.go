package chart

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"propwright/model"
	"propwright/model/machine"
)

// A Chart is a behaviour graph in words, before it has places.
type Chart struct {
	Title  string
	Legend []Key
	Boxes  []Box // states in file order, then what holds in many states
	Arrows []Arrow

	dense bool // many arrows: their words are in the boxes
	rows  bool // no arrows: the boxes are in rows
}

// A Shape tells boxes apart.
type Shape uint8

const (
	DormantShape    Shape = iota + 1 // a box with a double line
	AmbientShape                     // a box with round corners
	PerformingShape                  // a hexagon
	EveryShape                       // a list: what holds in every state, or every state of a kind
)

// A Key of the legend says what a shape or a line means, or what the chart
// leaves out.
type Key struct {
	Text  string
	Box   *Box   // a sample to draw beside the text, without words of its own; nil: none
	Arrow *Arrow // likewise
}

// A Mark says how something changed from one design to another.
type Mark uint8

const (
	Same Mark = iota
	Added
	Removed
)

// A Box is a state, or a list of what holds in many.
type Box struct {
	ID      string // unique in the chart: the state's name, or "any", "any dormant", …
	Shape   Shape
	Of      Shape // with EveryShape: that of the states it is about; 0: all
	Head    string
	Lines   []Line
	Tooltip string
	Mark    Mark
	Start   bool // power-up leads here
}

// A Line is a line of text in a box.
type Line struct {
	Text string
	Mark Mark
}

// An Arrow leads from a box, or from a line of it, to a state.
type Arrow struct {
	From    string
	Line    int // index in the box's Lines; -1: from the box itself
	To      string
	Labels  []string // the triggers
	Waits   bool     // taken when the routine ends
	Choice  string   // "at random" or "in turn" where the same triggers have other arrows too
	Tooltip string
	Mark    Mark

	text string // all of it as one line
}

// A View says which part of a design to draw; the zero View is all of it.
type View struct {
	State  string // only this state, what leads to it and what leads away
	Button string // only what this button does
}

// New makes the chart of a design. The error says which name is not there.
func New(d *model.Design, v View) (*Chart, error) {
	if err := v.check(d); err != nil {
		return nil, err
	}
	var all []said
	for i := range d.Transitions {
		all = append(all, saidBy(d, &d.Transitions[i], Same)...)
	}
	b := builder{design: d, view: v, matrix: machine.NewMatrix(d), marks: map[string]Mark{}}
	return b.build(all), nil
}

// A said is one transition, for one source and one trigger.
type said struct {
	from   model.From
	on     model.Trigger
	to     string // "" with does and ignore
	does   string // what is asked of outputs
	ignore bool
	waits  bool
	note   string
	mark   Mark
}

func saidBy(d *model.Design, t *model.Transition, m Mark) []said {
	var all []said
	for _, f := range t.From {
		for _, on := range t.On {
			s := said{from: f, on: on, ignore: t.Ignore, note: t.Note, mark: m}
			if !t.Ignore {
				s.to, s.does, s.waits = t.To, d.Does(t), t.Defer
			}
			all = append(all, s)
		}
	}
	return all
}

type builder struct {
	design *model.Design // its states are drawn
	view   View
	matrix *machine.Matrix
	marks  map[string]Mark // of states
	chart  Chart
}

func (b *builder) build(all []said) *Chart {
	b.chart.Title = b.design.Prop.Called()
	all = b.inView(all)
	for i := range b.design.States {
		b.state(i, all)
	}
	for _, f := range []model.From{
		{State: model.Any, Kind: model.Dormant},
		{State: model.Any, Kind: model.Ambient},
		{State: model.Any, Kind: model.Performing},
		{State: model.Any},
	} {
		b.every(f, all)
	}
	b.prune()
	b.chart.thin()
	b.legend()
	return &b.chart
}

var shapes = map[model.StateKind]Shape{
	model.Dormant: DormantShape, model.Ambient: AmbientShape, model.Performing: PerformingShape,
}

// state adds a state's box and the arrows that are its own.
func (b *builder) state(i int, all []said) {
	s := &b.design.States[i]
	box := Box{
		ID: s.Name, Shape: shapes[s.Kind], Head: s.Name, Mark: b.marks[s.Name],
		Start: i == b.design.Start(), Tooltip: tooltip(s.Name, s.Label, s.Note),
	}
	kind := string(s.Kind)
	if s.Plays != "" {
		kind += ", plays " + s.Plays
	}
	if label := model.Visible(s.Label); label != "" {
		box.Lines = append(box.Lines, Line{Text: label})
	}
	box.Lines = append(box.Lines, Line{Text: kind})
	own := of(all, model.From{State: s.Name})
	for _, g := range grouped(own) {
		if g.to == "" || g.to == model.Back {
			box.Lines = append(box.Lines, Line{Text: g.text(), Mark: g.mark})
			continue
		}
		b.arrows(&g, Arrow{
			From: s.Name, Line: -1, Labels: g.triggers(), Tooltip: g.tooltip(s.Name), text: g.text(),
		})
	}
	b.chart.Boxes = append(b.chart.Boxes, box)
}

// every adds the box of the rules that hold in every state, or every state of a kind.
func (b *builder) every(f model.From, all []said) {
	own := of(all, f)
	if len(own) == 0 {
		return
	}
	box := Box{ID: f.String(), Shape: EveryShape, Of: shapes[f.Kind], Head: everyHead(f)}
	for _, g := range grouped(own) {
		line := len(box.Lines)
		box.Lines = append(box.Lines, Line{Text: g.text(), Mark: g.mark})
		if g.to == "" || g.to == model.Back {
			continue
		}
		b.arrows(&g, Arrow{From: box.ID, Line: line, Tooltip: g.tooltip(box.Head)})
	}
	box.Tooltip = tooltip(box.Head, "holds where a state says nothing of its own", "")
	b.chart.Boxes = append(b.chart.Boxes, box)
}

// arrows adds a group's arrows, one for each state that it can lead to.
func (b *builder) arrows(g *group, a Arrow) {
	a.Waits, a.Mark = g.waits, g.mark
	if c, ok := model.ParseChoice(g.to); ok {
		a.Choice = atRandom
		if c.InTurn {
			a.Choice = inTurn
		}
	}
	for _, a.To = range model.Targets(g.to) {
		if v := b.view.State; v == "" || a.From == v || a.To == v {
			b.chart.Arrows = append(b.chart.Arrows, a)
		}
	}
}

// How a chart says that one of several arrows is taken.
const (
	atRandom = "at random"
	inTurn   = "in turn"
)

func everyHead(f model.From) string {
	if f.Kind != "" {
		return "every " + string(f.Kind) + " state"
	}
	return "every state"
}

// of returns what is said for one source.
func of(all []said, f model.From) []said {
	var own []said
	for _, s := range all {
		if s.from.State == f.State && s.from.Kind == f.Kind {
			own = append(own, s)
		}
	}
	return own
}

// A group is what leads from one source to one place in one way.
type group struct {
	said
	on    []model.Trigger
	notes []string
}

// grouped joins triggers with the same effect; orders come after targets, and ignored
// triggers last.
func grouped(all []said) []group {
	var gs []group
	for _, s := range all {
		i := slices.IndexFunc(gs, func(g group) bool {
			return g.to == s.to && g.does == s.does && g.waits == s.waits && g.mark == s.mark
		})
		if i < 0 {
			i = len(gs)
			gs = append(gs, group{said: s})
		}
		g := &gs[i]
		g.on = append(g.on, s.on)
		if s.note != "" && !slices.Contains(g.notes, s.note) {
			g.notes = append(g.notes, s.note)
		}
	}
	slices.SortStableFunc(gs, func(a, b group) int { return cmp.Compare(rank(a), rank(b)) })
	return gs
}

func rank(g group) int {
	switch {
	case g.to != "":
		return 0
	case g.does != "":
		return 1
	}
	return 2
}

// atEnd is how a chart says that a transition is deferred.
const atEnd = "when the routine ends"

func (g *group) triggers() []string {
	var ts []string
	for _, t := range g.on {
		ts = append(ts, t.String())
	}
	return ts
}

// text returns the group as one line: "press hush, done → back", and orders as UML 2.5.1
// writes them, "press lamp / lantern on or off".
func (g *group) text() string {
	switch {
	case g.does != "":
		return inOneWord(g.on) + " / " + g.does
	case g.to == "":
		return "ignored: " + inOneWord(g.on)
	}
	s := inOneWord(g.on) + " → " + g.to
	if g.waits {
		s += ", " + atEnd
	}
	return s
}

// inOneWord writes triggers with their word once where it is the same in a
// row: "press one, two, done".
func inOneWord(on []model.Trigger) string {
	var words []string
	for i, t := range on {
		plain := t.Kind != model.Hold && t.Kind != model.After && t.Kind != model.Done
		if plain && i > 0 && on[i-1].Kind == t.Kind {
			words = append(words, t.Name)
			continue
		}
		words = append(words, t.String())
	}
	return strings.Join(words, ", ")
}

func (g *group) tooltip(from string) string {
	what := from + ": " + g.text()
	return tooltip(what, strings.Join(g.notes, "\n"), "")
}

// tooltip joins lines of text.
func tooltip(lines ...string) string {
	var said []string
	for _, l := range lines {
		if l = strings.TrimSpace(l); l != "" {
			said = append(said, l)
		}
	}
	return strings.Join(said, "\n")
}

// legend explains the shapes that the chart has.
func (b *builder) legend() {
	has := map[Shape]bool{}
	mark, waits, choices := false, false, map[string]bool{}
	for _, x := range b.chart.Boxes {
		has[x.Shape] = true
		mark = mark || x.Mark != Same
		for _, l := range x.Lines {
			mark = mark || l.Mark != Same
		}
	}
	for _, a := range b.chart.Arrows {
		waits = waits || a.Waits
		choices[a.Choice] = true
		mark = mark || a.Mark != Same
	}
	remarks := b.chart.Legend
	b.chart.Legend = nil
	for _, k := range []struct {
		shown bool
		Key
	}{
		{has[DormantShape], Key{Text: "double line: dormant, at rest", Box: &Box{Shape: DormantShape}}},
		{has[AmbientShape], Key{Text: "round corners: ambient, idling", Box: &Box{Shape: AmbientShape}}},
		{has[PerformingShape], Key{Text: "six sides: performing", Box: &Box{Shape: PerformingShape}}},
		{has[EveryShape], Key{Text: "a stack: all states of this shape that say nothing of their own", Box: &Box{Shape: EveryShape}}},
		{waits, Key{Text: "dashed arrow: taken " + atEnd, Arrow: &Arrow{Waits: true}}},
		{choices[atRandom], Key{Text: atRandom + ": one of the arrows, but not to where one led the last time"}},
		{choices[inTurn], Key{Text: inTurn + ": one of the arrows after the other"}},
		{mark, Key{Text: "+ new: thick and blue", Arrow: &Arrow{Mark: Added}}},
		{mark, Key{Text: "− gone: dotted and orange-red", Arrow: &Arrow{Mark: Removed}}},
		{true, Key{Text: "drawn from the design, neither checked nor tried"}},
	} {
		if k.shown {
			b.chart.Legend = append(b.chart.Legend, k.Key)
		}
	}
	b.chart.Legend = append(b.chart.Legend, remarks...)
}

func (v View) check(d *model.Design) error {
	switch {
	case v.State != "" && v.Button != "":
		return fmt.Errorf("a chart shows one state or one button, not both")
	case v.State != "":
		return known(d, model.SortState, v.State)
	case v.Button != "":
		return known(d, model.SortButton, v.Button)
	}
	return nil
}

func known(d *model.Design, sort model.Sort, name string) error {
	if _, ok := d.Find(sort, name); ok {
		return nil
	}
	names := d.Names(sort)
	advice := "there are " + strings.Join(names, ", ")
	if n := model.Nearest(name, names); n != "" {
		advice = "did you mean " + n + "?"
	}
	return fmt.Errorf("there is no %s %q; %s", sort.Noun(), name, advice)
}
