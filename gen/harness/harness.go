// Package harness makes the Go module that tests a prop's firmware on any
// computer: it runs the firmware's C files and compares them with a Go copy of the
// tables, which is made from the compiled design, not from the C tables.
//
// The whole sketch runs there on a stand-in for the board. A player in Go, with the
// design's own units and the firmware's arithmetic, says what every pulse, pixel, level
// and byte has to be. TestMutants shows what the harness detects.
//
// TestConformance treats the firmware as a black box: its sequences, from power-up on,
// tell it from every other that has no more configurations (gen/conform). The other
// tests put the firmware into each state. They leave no choice to chance: they set what
// the firmware remembers and the next number of its random sequence, and so cover every
// outcome.
//
// It knows the firmware's functions and tables. It refuses to know the chip.
//
// The harness keeps the digests of the sketch's files it was made for, all but the
// maker's hooks.cpp, and fails where they differ: the go command does not notice a change
// in `../*.c`.
//
// Each requirement that can be played is a case (see model/check), and so is each
// rehearsal beside the design file, with the design's seed or 1. Both give the
// firmware events, not frames: acts of a rehearsal may be a millisecond apart, frames
// are not; frames have their own tests. A rehearsal that names what the design lacks
// stops the build.
package harness

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"go/format"
	"io/fs"
	"path"
	"slices"
	"strings"
	"sync"
	"text/template"

	"propwright/gen"
	"propwright/gen/conform"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/ir"
	"propwright/model/machine"
	"propwright/model/rehearsal"
	"propwright/templates"
)

// Folder is the module's place in the prop's folder.
const Folder = "harness"

var texts = sync.OnceValue(func() *template.Template {
	return template.Must(template.ParseFS(templates.Harness, "harness/*.tmpl"))
})

// Files makes the module for a design and the sketch that was generated from
// it; scripts are rehearsals of the design, of which each becomes a case, as
// does each requirement that can be played. A design with faults gives an
// error, model.Faults where they are known; so does a script that names what
// the design lacks.
func Files(s *check.Study, built []gen.File, scripts []*rehearsal.Script) ([]gen.File, error) {
	v, err := newView(s, built, scripts)
	if err != nil {
		return nil, err
	}
	names, err := fs.Glob(templates.Harness, "harness/*.tmpl")
	if err != nil {
		return nil, err
	}
	if len(v.Choices) == 0 {
		names = slices.DeleteFunc(names, func(t string) bool { return strings.HasPrefix(path.Base(t), "choices") })
	}
	files, errs := make([]gen.File, len(names)), make([]error, len(names))
	var formatting sync.WaitGroup // it takes longer than all else
	for i, t := range names {
		var b bytes.Buffer
		if err := texts().ExecuteTemplate(&b, path.Base(t), v); err != nil {
			return nil, err
		}
		name := strings.TrimSuffix(path.Base(t), ".tmpl")
		files[i] = gen.File{Path: Folder + "/" + name, Text: b.Bytes()}
		if path.Ext(name) == ".go" {
			formatting.Go(func() {
				if files[i].Text, errs[i] = format.Source(b.Bytes()); errs[i] != nil {
					errs[i] = fmt.Errorf("%s: %w", name, errs[i])
				}
			})
		}
	}
	formatting.Wait()
	if err := cmp.Or(errs...); err != nil {
		return nil, err
	}
	suite := strings.Replace(conform.Source, "package conform", "package harness", 1)
	return append(files, gen.File{Path: Folder + "/suite.go", Text: []byte(suite)}), nil
}

// A view is the data of the templates.
type view struct {
	Name, Module string
	Sketch       string
	Start        machine.StateID
	Stop         string // the button that leads to rest within StopMS milliseconds
	StopMS       int64
	Events       []model.Trigger
	States       []stateView
	Choices      []choiceView
	Buttons      []buttonView
	Foreign      []foreignView
	Inputs       []inputView
	Outputs      []string
	Expanded     []bool // of servos and spinners, which are on an expander; none where none is
	Routines     []routineView
	Orders       [][]askView
	Stops        []askView
	Files        []fileView
	Rehearsals   []caseView
	Live         bool // the firmware tells over its serial line what goes on
	Requirements []caseView
}

type choiceView struct {
	machine.Choice
	Text string
}

type stateView struct {
	Name   string
	Kind   model.StateKind
	Length string
	On     []moveView
	Done   *moveView
	After  []timerView
	Enter  []askView
	Plays  string
	Drift  []string
}

// A moveView is a move as the tables write it, and in words.
type moveView struct{ Move, Text string }

type timerView struct {
	moveView
	Lo, Hi uint32
}

type buttonView struct {
	Name         string
	Frame, Again []int
	Least, Most  []int // of Frame
	Slow         []int // Frame with longer times, of a code for which that is the same
	SlowLeast    []int
	SlowMost     []int
	Leaders      [][]int
	Other        []int // what its protocol has for Again, where the remote sends Frame
	OtherLeast   []int
	OtherMost    []int
	AgainLeast   []int // of Again, where it is not Frame
	AgainMost    []int
	Next         []int // Frame of the next press, where it is another
	Period       uint32
	Late         int
	Silence      int
	Lasting      uint32
	AtOnce       bool // it is heard 3 ms after power-up
	Holds        []holdView
	Repeat       string
	Release      string
}

type holdView struct {
	Event machine.EventID
	MS    uint32
}

type inputView struct {
	Name       string
	Debounce   int64
	Rise, Fall string
}

type fileView struct{ Path, Sum string }

func newView(study *check.Study, built []gen.File, scripts []*rehearsal.Script) (*view, error) {
	d, p := study.Design, study.Program
	v := &view{
		Name:   d.Prop.Name,
		Module: sketch.Folder(d) + "_harness",
		Sketch: sketch.Folder(d),
		Start:  p.Start,
		Events: p.Events,
		Live:   d.Prop.Live,
	}
	if err := v.stopping(study); err != nil {
		return nil, err
	}
	for s := range d.States {
		v.States = append(v.States, newState(p, machine.StateID(s)))
	}
	for _, c := range p.Choices {
		words := model.Choice{InTurn: c.InTurn}
		for _, s := range c.States {
			words.States = append(words.States, p.Name(s))
		}
		v.Choices = append(v.Choices, choiceView{c, words.String()})
	}
	for i := range d.Remote.Buttons {
		b, err := newButton(p, &d.Remote.Buttons[i])
		if err != nil {
			return nil, err
		}
		v.Buttons = append(v.Buttons, b)
	}
	for _, in := range d.Inputs {
		x := inputView{
			Name:     in.Name,
			Debounce: in.Debounce.Milliseconds(),
			Rise:     event(p, model.Trigger{Kind: model.Rise, Name: in.Name}),
			Fall:     event(p, model.Trigger{Kind: model.Fall, Name: in.Name}),
		}
		if x.Rise != x.Fall { // else the firmware does not look at it
			v.Inputs = append(v.Inputs, x)
		}
	}
	v.Foreign = foreign(d)
	v.outputs(p)
	for _, f := range built {
		if !f.Yours { // the maker's own is not known
			text := bytes.ReplaceAll(gen.Seal(f.Path, f.Text), []byte("\r"), nil)
			sum := sha256.Sum256(text)
			v.Files = append(v.Files, fileView{f.Path, hex.EncodeToString(sum[:])})
		}
	}
	var err error
	if v.Rehearsals, err = rehearsals(p, scripts); err != nil {
		return nil, err
	}
	if v.Requirements, err = required(study); err != nil {
		return nil, err
	}
	return v, nil
}

// stopping returns how soon the stop button brings the prop to rest, where that is known.
func (v *view) stopping(s *check.Study) error {
	v.Stop = "none"
	times, err := s.Rest()
	if errors.Is(err, check.ErrTooLarge) || err == nil && !times.Stops {
		return nil
	}
	if b, ok := s.Program.Button(s.Design.Remote.Stop); ok {
		v.Stop, v.StopMS = fmt.Sprint(b), times.Stop.Milliseconds()
	}
	return err
}

func newState(p *machine.Program, s machine.StateID) stateView {
	v := stateView{Name: p.Name(s), Kind: p.Kind(s), Length: "never"}
	for e, t := range p.Events {
		v.On = append(v.On, newMove(p, p.Move(s, machine.EventID(e)), t))
	}
	if p.Length[s] >= 0 {
		v.Length = fmt.Sprint(p.Length[s])
		if m := p.Done(s); m != nil {
			done := newMove(p, m, model.Trigger{Kind: model.Done})
			v.Done = &done
		}
	}
	for _, t := range p.Timers(s) {
		on := p.Design.Transitions[t.Transition].On[t.Trigger]
		v.After = append(v.After, timerView{newMove(p, &t.Move, on), t.Lo, t.Hi})
	}
	return v
}

func newMove(p *machine.Program, m *machine.Move, on model.Trigger) moveView {
	if m == nil {
		return moveView{"{}", on.String()}
	}
	if m.Ignore {
		return moveView{"{ignore, 0}", on.String() + ": ignore"}
	}
	if m.Do {
		return moveView{fmt.Sprintf("{order, %d}", slices.Index(sketch.Orders(p), m.Transition)), on.String() + ": " + p.Design.Does(&p.Design.Transitions[m.Transition])}
	}
	target, name := "back", p.To(m)
	if m.Target != machine.BackTarget {
		target = fmt.Sprint(m.Target)
	}
	if m.Defer {
		return moveView{"{wait, " + target + "}", on.String() + ": " + name + ", when the routine ends"}
	}
	return moveView{"{enter, " + target + "}", on.String() + ": " + name}
}

func newButton(p *machine.Program, b *model.Button) (buttonView, error) {
	code, err := ir.ParseCode(b.Code)
	if err != nil {
		return buttonView{}, model.Faults{{Pos: b.At("code"), Wrong: err.Error()}}
	}
	sent, _ := p.Design.Remote.Sends(b)
	v := buttonView{
		Name:    b.Name,
		Frame:   ir.Encode(code),
		Again:   ir.EncodeRepeat(sent),
		Period:  machine.Millis(code.RepeatPeriod()),
		Lasting: machine.ReleaseAfter(sent),
		Repeat:  event(p, model.Trigger{Kind: model.Repeated, Name: b.Name}),
		Release: event(p, model.Trigger{Kind: model.Release, Name: b.Name}),
	}
	ear := newEar(code, 3000)
	v.AtOnce = hears(&ear, v.Frame, 0, is(code))
	ear = newEar(code, pause)
	v.Least, v.Most = tolerance(ear, v.Frame, is(code))
	if known, ok := code.Known(); ok && known.Wave.Family == ir.Unknown {
		for _, us := range v.Frame {
			v.Slow = append(v.Slow, 3*us)
		}
		v.SlowLeast, v.SlowMost = tolerance(ear, v.Slow, is(code))
	}
	if known, ok := code.Known(); ok && known.Wave.LeaderMost > 0 {
		for n, other := range []int{1, 0} {
			frame := slices.Clone(v.Frame)
			frame[other] = v.Least[other]
			_, most := tolerance(ear, frame, is(code))
			frame[n] = most[n]
			v.Leaders = append(v.Leaders, frame[:2])
		}
	}
	if !slices.Equal(v.Again, v.Frame) {
		hears(&ear, v.Frame, 0, is(code))
		v.AgainLeast, v.AgainMost = tolerance(ear, v.Again, func(f ir.Frame) bool { return f.Repeat })
	}
	apart := code
	if apart.Resent = false; sent.Resent && apart.Repeats() != ir.RepeatFrame {
		if other := ir.EncodeRepeat(apart); !slices.Equal(other, v.Frame) {
			hears(&ear, v.Frame, 0, is(code))
			v.Other = other
			v.OtherLeast, v.OtherMost = tolerance(ear, other, func(f ir.Frame) bool { return f.Repeat })
		}
	}
	if next := ir.EncodePress(code, true); !slices.Equal(next, v.Frame) {
		v.Next = next
	}
	if v.Again == nil {
		v.Period = v.Lasting // nothing comes before it is released
	}
	v.Silence = ir.Silence
	if known, _ := code.Known(); known.Wave.Silence > 0 {
		v.Late, v.Silence = sketch.SilenceMS(known.Wave)-1, known.Wave.Silence
	}
	for e, t := range p.Events {
		if t.Kind == model.Hold && t.Name == b.Name {
			v.Holds = append(v.Holds, holdView{machine.EventID(e), machine.Millis(t.For)})
		}
	}
	slices.SortFunc(v.Holds, func(a, b holdView) int { return cmp.Compare(a.MS, b.MS) })
	return v, nil
}

// event returns an outside event as the tables write it.
func event(p *machine.Program, t model.Trigger) string {
	if e, ok := p.Event(t); ok {
		return fmt.Sprint(e)
	}
	return "none"
}
