package editor

import (
	"fmt"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/board"
)

// boardText describes a board for choosing one.
func boardText(name string) string {
	b, ok := board.ByName(name)
	if !ok {
		return ""
	}
	if b.Portable {
		return "any 32-bit board with the same core; not proven on a chip"
	}
	return fmt.Sprintf("%s and the like: %d pins, %d kB for the program", b.Usual, len(b.Pins), b.FlashBytes/1024)
}

// receiverPin is where a new design has its receiver.
const receiverPin = 2

// givePin sets a new output's pin to the first free one that suits it.
func (g *guide) givePin(o *model.Output) error {
	d := &model.Design{
		Prop:    model.Prop{Board: g.board},
		Remote:  model.Remote{Pin: receiverPin},
		Outputs: g.outputs,
	}
	free := d.FreePins(o.Use())
	if len(free) == 0 {
		return fmt.Errorf("no pin is free for another %s", o.Kind)
	}
	o.Pin = free[0]
	return nil
}

// design returns the design of the answers: dormant until the second button wakes it, an
// ambient state, a performance on the third button, and a way to rest from everywhere.
func (g *guide) design() *model.Design {
	rest, idle, show := g.states[0], g.states[1], g.states[2]
	stop, wake, start := g.buttons[0], g.buttons[1], g.buttons[2]
	d := &model.Design{
		File:    g.file,
		Prop:    model.Prop{Name: g.name, Label: model.LabelOf(g.name), Board: g.board, RestWithin: 3 * time.Second},
		Remote:  model.Remote{Pin: receiverPin, Stop: stop},
		Outputs: g.outputs,
	}
	for _, name := range g.buttons {
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{Name: name, Code: freeCode(d), Unlearned: true})
	}
	routine := model.Routine{Name: show, Length: 2 * time.Second}
	dormant := model.State{Name: rest, Kind: model.Dormant, Over: time.Second}
	ambient := model.State{Name: idle, Kind: model.Ambient, Over: time.Second}
	for i := range d.Outputs {
		o := &d.Outputs[i]
		if o.Kind == model.KindSound {
			d.Tracks = append(d.Tracks, model.Track{Name: o.Name, Length: time.Second, Play: model.Plays(o)[0]})
			routine.Cues = append(routine.Cues, model.Cue{Track: o.Name})
			continue
		}
		show := model.ShowAction(o)
		routine.Cues = append(routine.Cues, model.Cue{Output: o.Name, Action: show})
		if o.Kind.Poses() {
			rest := model.RestAction(o)
			rest.Over = show.Over
			routine.Cues = append(routine.Cues, model.Cue{At: 1500 * time.Millisecond, Output: o.Name, Action: rest})
		}
		switch {
		case o.Kind.Drifts():
			ambient.Drift = append(ambient.Drift, model.FirstDrift(o))
		case o.Kind.Poses():
			ambient.Pose = append(ambient.Pose, model.Pose{Output: o.Name, Action: model.IdleAction(o)})
		}
	}
	d.Routines = []model.Routine{routine}
	d.States = []model.State{dormant, ambient, {Name: show, Kind: model.Performing, Plays: show}}
	press := func(names ...string) []model.Trigger {
		on := make([]model.Trigger, len(names))
		for i, name := range names {
			on[i] = model.Trigger{Kind: model.Press, Name: name}
		}
		return on
	}
	from := func(state string, kind model.StateKind) []model.From { return []model.From{{State: state, Kind: kind}} }
	after := model.Trigger{Kind: model.After, After: model.Span{Lo: 5 * time.Minute, Hi: 5 * time.Minute}}
	d.Transitions = []model.Transition{
		{From: from(rest, ""), On: press(wake), To: idle},
		{From: from(idle, ""), On: press(start), To: show},
		{From: from(idle, ""), On: []model.Trigger{after}, To: rest},
		{From: from(model.Any, model.Performing), On: []model.Trigger{{Kind: model.Done}}, To: model.Back},
		{From: from(model.Any, ""), On: press(stop), To: rest},
		{From: from(model.Any, ""), On: press(g.buttons[1:]...), Ignore: true},
	}
	return d
}

// summary says what a new design does.
func (g *guide) summary(d *model.Design) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, in %s.\n", d.Prop.Label, g.file)
	fmt.Fprintf(&b, "It sleeps in %s until %s is pressed; then it idles in %s.\n", g.states[0], g.buttons[1], g.states[1])
	fmt.Fprintf(&b, "%s plays %s, and then it goes on where it was.\n", g.buttons[2], g.states[2])
	fmt.Fprintf(&b, "%s always brings it to rest; left alone for 5 minutes it goes to rest by itself.\n", g.buttons[0])
	for i := range d.Outputs {
		fmt.Fprintf(&b, "%s (%s) is on pin %d. ", d.Outputs[i].Name, d.Outputs[i].Kind, d.Outputs[i].Pin)
	}
	fmt.Fprintf(&b, "The receiver is on pin %d.", d.Remote.Pin)
	return b.String()
}
