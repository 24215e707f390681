package editor

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/machine"
	"propwright/model/rehearsal"
)

// A performance is the prop being played: under a clock, by hand, or step by step from a
// finding's witness.
type performance struct {
	*workspace
	player *rehearsal.Player // nil where the design cannot be rehearsed
	why    error             // why not
	of     *model.Design     // what the player was made of
	held   string            // the button that is kept down
	high   map[string]bool   // inputs that are active
	clock  clock
	steps  []machine.Act // of a witness, still to be played
	told   string        // what the witness shows
}

// ready makes sure that the player plays the present design. After an edit it repeats
// all acts so far on the changed prop.
func (p *performance) ready() bool {
	d := p.desk.design()
	if p.of == d {
		return p.player != nil
	}
	before := p.player
	p.power()
	if before == nil || p.player == nil {
		return p.player != nil
	}
	for _, l := range before.Script().Lines {
		if l.Expect != "" {
			continue
		}
		if err := p.player.Do(l.Act); err != nil {
			p.power()
			p.say("the design has changed, and what was done does not fit it any more: powered up again")
			return p.player != nil
		}
	}
	p.say("the design has changed: what was done so far was done again to the changed prop")
	return true
}

// power powers the prop up.
func (p *performance) power() { p.powerDrawing(nil) }

// powerDrawing powers the prop up; its deadlines are those of draws, then the
// longest that they can be, as model/check has it. Without draws they come
// from the random sequence.
func (p *performance) powerDrawing(draws []uint32) {
	p.of = p.desk.design()
	p.clock.stop()
	p.held, p.high, p.steps, p.told = "", map[string]bool{}, nil, ""
	// The player is for a whole design: what a file could not hold is told here.
	read, err := model.Read(p.of.File, p.of.Format())
	switch {
	case err != nil:
	case draws == nil:
		p.player = rehearsal.New(machine.Compile(read))
	default:
		p.player = rehearsal.NewDrawing(machine.Compile(read), func(_, hi uint32) uint32 {
			if len(draws) == 0 {
				return hi
			}
			n := draws[0]
			draws = draws[1:]
			return n
		})
	}
	if p.why = err; err != nil {
		p.player = nil
	}
}

// do does an act.
func (p *performance) do(a machine.Act) {
	if !p.ready() {
		p.say("the design cannot be rehearsed yet; F7 shows what is missing")
		return
	}
	if err := p.player.Do(a); err != nil {
		p.complain(err)
	}
}

// run lets the clock run, or stops it.
func (p *performance) run() {
	if !p.ready() {
		p.say("the design cannot be rehearsed yet; F7 shows what is missing")
		return
	}
	if p.clock.running {
		p.clock.stop()
		return
	}
	p.clock.start(p.queue, func(passed time.Duration) {
		if p.over.Top() == nil && p.ready() {
			p.player.Advance(passed)
			p.follow()
		}
	})
}

// frame lets one frame of the outputs pass.
func (p *performance) frame() {
	if p.ready() {
		p.player.Advance(20 * time.Millisecond)
	}
}

// next lets time pass until something happens by itself, or does the next
// step of a witness.
func (p *performance) next() {
	if !p.ready() {
		return
	}
	if len(p.steps) > 0 {
		a := p.steps[0]
		p.steps = p.steps[1:]
		p.do(a)
		p.say(fmt.Sprintf("%s; %d more", a, len(p.steps)))
		if len(p.steps) == 0 {
			p.say(a.String() + " — this is what was found: " + p.told)
		}
		return
	}
	if !p.player.Step() {
		p.say("nothing will happen any more by itself: press a button")
	}
}

func (p *performance) anew() {
	p.power()
	p.say("powered up")
}

// expect notes in the script that the prop should be in its present state.
func (p *performance) expect() {
	if p.ready() {
		p.player.Expect()
		p.say("noted for the script: expect " + p.player.State())
	}
}

// save saves what was done as a script beside the design.
func (p *performance) save() {
	var script *rehearsal.Script
	if p.prop != nil {
		var err error
		if script, err = p.prop.Script(); err != nil {
			p.complain(err)
			return
		}
	} else if p.ready() {
		script = p.player.Script()
	} else {
		p.say("there is nothing to save yet")
		return
	}
	if p.desk.file == nil {
		p.say("there is no design yet")
		return
	}
	p.over.Write(&pane.Dialog{
		Title: "save the rehearsal as a script",
		Hint:  "a title, for example greeting; `propwright rehearse` plays it, and it becomes a test of the built firmware",
		Accept: func(title string) error {
			if err := newName(&model.Design{}, model.SortState, title); err != nil {
				return err
			}
			file := rehearsal.File(p.desk.file.Name(), title)
			text := script.Format("A rehearsal of " + p.desk.title() + ": " + title)
			f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
			if errors.Is(err, fs.ErrExist) {
				return fmt.Errorf("%s is there already; choose another title", file)
			}
			if err != nil {
				return err
			}
			_, err = f.Write(text)
			if err := errors.Join(err, f.Close()); err != nil {
				return err
			}
			p.recheck() // it looks at the scripts, too
			p.say(file + " is saved")
			return nil
		},
	}, "")
}
