package prove

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/check"
	"propwright/model/machine"
	"propwright/model/rehearsal"
)

// A Firmware is a program that should be the firmware of a design.
type Firmware struct {
	Study   *check.Study
	Program string // an ELF or, for a chip, an Intel HEX file
	Bare    bool   // its variables are not known: it is judged by its pins alone

	posts posts // where events of the maker's own are asked for
}

// A Result is the result of a part of the proof.
type Result struct {
	Shown   string      // what was tried, and held but for Against
	Left    []string    // what was not tried, and why
	Against *Difference // what refutes the firmware
}

// A Difference is between a firmware and its design.
type Difference struct {
	Script *rehearsal.Script // what was done, and the state that the design is in then
	Wrong  string
}

// Compile compiles the design's sketch folder for its board, into another folder, and
// sets the program. The sketch's hooks.cpp posts each of the design's events when a
// free pin goes high.
func (f *Firmware) Compile(sketchDir, into string) error {
	f.posts = postsOf(f.Study.Design)
	if err := f.posts.post(sketchDir, f.Study.Program); err != nil {
		return err
	}
	return bench.Try(func(t bench.TB) {
		made, err := os.ReadFile(compile(t, sketchDir, f.Study.Design))
		if err != nil {
			t.Fatal(err)
		}
		f.Program = filepath.Join(into, "firmware")
		if err := os.WriteFile(f.Program, made, 0o700); err != nil {
			t.Fatal(err)
		}
	})
}

func compile(t bench.TB, sketchDir string, d *model.Design) (program string) {
	if b, _ := board.ByName(d.Prop.Board); b.Portable {
		return bench.CompileForHost(t, sketchDir, mosi(d))
	}
	return bench.Compile(t, sketchDir, d.Prop.Board)
}

// mosi returns the pin that a design for the portable board has its strip on, which is where
// the stand-in's SPI port sends.
func mosi(d *model.Design) int {
	for i := range d.Outputs {
		if d.Outputs[i].Kind == model.KindPixels {
			return d.Outputs[i].Pin
		}
	}
	return 53
}

// Judgeable says why a bare firmware of a design cannot be judged.
func Judgeable(d *model.Design) error {
	b, _ := board.ByName(d.Prop.Board)
	switch {
	case b.Portable:
		return fmt.Errorf("there is no simulated chip for the board %s: prove without --hex tries what build writes, on this computer", b.Name)
	case len(d.Outputs) == 0:
		return fmt.Errorf("the design has no output, so that nothing of a firmware shows at its pins")
	case d.Prop.Seed == 0:
		for i := range d.Transitions {
			tr := &d.Transitions[i]
			for _, on := range tr.On {
				c, chooses := model.ParseChoice(tr.To)
				if on.Kind == model.After && on.After.Lo < on.After.Hi || chooses && !c.InTurn {
					return fmt.Errorf("%s: what chance decides here is drawn at power-up, so nobody can say what the firmware is to do: write a seed below [prop], build, and prove that", tr.Pos)
				}
			}
		}
	}
	return nil
}

// begin powers a stand up. It watches variables and, with pins, the outputs' pins.
func (f *Firmware) begin(t bench.TB, pins bool, variables ...string) *attempt {
	o := bench.Options{Step: look * bench.Millisecond}
	if !f.Bare {
		o.Watch = append(variables, "pw_state")
	}
	if pins {
		o.Pins = pinsOf(f.Study.Design)
	}
	x := &attempt{stand: powerUp(t, f.Program, f.Study.Design, o), bare: f.Bare}
	x.posts = f.posts
	for _, pin := range f.posts {
		if pin > 0 {
			x.chip.SetPin(pin, bench.Low, 0)
		}
	}
	for i := range f.Study.Outputs {
		if out := &f.Study.Outputs[i]; out.Bus != 0 {
			x.chip.SetDevice(int(out.Bus), bench.Answers, 0)
		}
	}
	if pins {
		x.watch = newWatch(x.stand)
	}
	x.to(20)
	return x
}

// An attempt is one run from power-up.
type attempt struct {
	*stand
	bare  bool
	watch *watch // nil: the pins are not watched
}

// differs returns the difference so far, once nothing happens in either for a moment.
func (x *attempt) differs() *Difference {
	wrong := ""
	if !x.bare {
		if _, err := x.changes(); err != nil {
			wrong = err.Error()
		} else if now := machine.StateID(x.chip.Value("pw_state")); now != x.machine.State() {
			wrong = fmt.Sprintf("the firmware is in %s; the design in %s", x.name(now), x.name(x.machine.State()))
		}
	}
	if wrong == "" && x.watch != nil {
		wrong = x.watch.look()
	}
	if wrong == "" {
		return nil
	}
	return &Difference{x.script(), wrong}
}

// script returns what was done, as a rehearsal, and the state that the design is in now.
func (x *attempt) script() *rehearsal.Script {
	p := rehearsal.New(x.program)
	wait := func(until ms) {
		if now := machine.Millis(p.Now()); until > now {
			p.Advance(time.Duration(until-now) * time.Millisecond)
		}
	}
	for _, d := range x.done {
		if d.at <= x.now() {
			wait(d.at - 1) // an act takes a millisecond
			p.Do(d.Act)    // there is what it names
		}
	}
	wait(x.now())
	p.Expect()
	return p.Script()
}

// String returns the acts as a rehearsal, and the difference.
func (d *Difference) String() string {
	var b strings.Builder
	for _, l := range d.Script.Lines {
		fmt.Fprintf(&b, "  %s\n", l)
	}
	return b.String() + d.Wrong
}
