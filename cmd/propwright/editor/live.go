package editor

import (
	"errors"
	"fmt"
	"io"
	"time"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/live"
	"propwright/cmd/propwright/ports"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
)

// A listening is the running prop itself, which reports over its serial line what it
// does, in place of the rehearsed prop.
type listening struct {
	*live.Prop
	port string
	line io.Closer
	log  []toldAt
	stop func() // what it tells is not taken in any more
	gone bool   // the line is closed; what was told can still be read and saved
}

// A toldAt is a report of the prop in words, with its time.
type toldAt struct {
	at   time.Duration
	said string
}

// askProp asks for the port of the board that the prop runs on.
func (v *play) askProp() {
	if !v.ready() {
		v.say("the design cannot be rehearsed yet; F7 shows what is missing")
		return
	}
	study := check.NewStudy(v.player.Design())
	if err := live.CanTell(study); err != nil {
		v.complain(err)
		return
	}
	c := &pane.Dialog{Title: "listen to the prop: its board's serial port", Hint: "the board restarts and the prop may move: stay clear"}
	v.offerPorts(c, func(port string) error {
		line, err := ports.Open(port, sketch.LiveBaud)
		if err != nil {
			return err
		}
		l := &listening{Prop: live.NewProp(study, line, time.Now()), port: port, line: line}
		v.clock.stop()
		v.prop = l
		l.stop = l.Listen(line, v.queue, func(s string) { v.heard(l, s) }, v.lostProp)
		return nil
	})
	v.over.Choose(c, "")
}

// heard logs a report of the prop, and shows it on the status line.
func (v *play) heard(l *listening, said string) {
	l.log = append(l.log, toldAt{l.At, said})
	v.say("the prop: " + said)
	v.follow()
}

// leaveProp goes back to the rehearsed prop, and says why.
func (v *play) leaveProp(why error) {
	l := v.prop
	v.prop = nil
	if !l.gone {
		l.stop()
		why = errors.Join(why, l.line.Close())
	}
	v.complain(fmt.Errorf("the prop is no longer listened to: %w", why))
}

// lostProp keeps what the prop has told on the screen where its line is closed, as it
// may not be saved yet; otherwise it leaves the prop.
func (v *play) lostProp(why error) {
	if !errors.Is(why, live.ErrClosed) {
		v.leaveProp(why)
		return
	}
	l := v.prop
	l.gone, l.State = true, ""
	v.heard(l, why.Error())
	v.complain(errors.Join(why, l.line.Close()))
}

// pressProp presses a button of the prop.
func (v *play) pressProp(name string) {
	if v.prop.gone {
		v.complain(live.ErrClosed)
		return
	}
	if v.prop.Waiting() {
		v.say("the prop has not answered the last press yet")
		return
	}
	if err := v.prop.Press(name, time.Now()); err != nil {
		v.complain(err)
	}
}

// drawProp draws the prop's reports, the latest first.
func (v *play) drawProp(p pane.Pen) {
	t, l := v.theme, v.prop
	head := "the prop itself, at " + l.port + "; l leaves it"
	switch {
	case l.gone:
		p.Text(0, 0, t.Warning, "the line is closed")
		head = "what the prop at " + l.port + " told; s saves it, l leaves it"
	case l.State == "":
		p.Text(0, 0, t.Dim, "no state was told yet")
	default:
		v.drawStateName(p, l.State)
	}
	p.Text(0, 1, t.Plain, head)
	p.Text(0, 3, t.Head, pane.Pad("told", p.W-1))
	const clock = 14
	for i, y := len(l.log)-1, 4; i >= 0 && y < p.H; i-- {
		p.Text(0, y, t.Plain, fmt.Sprintf("%*s", clock, model.SayClock(l.log[i].at)))
		y = p.Lines(clock+2, y, t.Plain, pane.Wrap(l.log[i].said, p.W-clock-3))
	}
}
