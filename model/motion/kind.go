package motion

import (
	"fmt"
	"math"
	"time"

	"propwright/model"
)

// A Form is which question tells what an output does, and so how that can be
// shown. Several kinds have one form.
type Form uint8

const (
	OnOff      Form = iota // Stage.Active; also of an unknown kind
	OnScale                // Stage.Value, from one end of Output.Scale to the other
	InLights               // Stage.Pixel
	InMessages             // Stage.Sent
)

// A behaviour is what outputs of one kind do in time.
type behaviour struct {
	form  Form
	stops bool // where a state neither poses nor moves it
	start func(p *played)
	// target is what an action asks for on the output's scale, and how it gets there.
	target func(a model.Action) (float64, model.Ease)
	// reading writes a value on the output's scale.
	reading func(o *model.Output, value Range) string
	perform func(p *played, a model.Action, m moment)
	follow  func(p *played, c Call, m moment) // a call with a voice; nil: it cannot
	quit    func(p *played, m moment)         // following, where a state is left
	// settles is how long an output needs for what it is asked for, at the most,
	// whatever it did before within reach; nil: no time.
	settles func(o *model.Output, a model.Action, reach Range) time.Duration
	// goesOn is for how long an output goes on with what it was asked for, whatever state
	// is entered; nil: no time.
	goesOn func(o *model.Output) time.Duration
	// unsettles says what an order sets in motion, "" for nothing; nil: nothing.
	unsettles func(d *model.Design, or *model.Order) string
	// restless is why an output never comes to rest, "" where it does; nil: it does.
	restless func(a model.Action) string
}

// ramps is the time of a spinner's ramp or of a layer of light that comes up.
func ramps(_ *model.Output, a model.Action, _ Range) time.Duration { return Frames(a.Over) + Frame }

// pulseTime is how long a pulse lasts at the most: the firmware counts milliseconds
// that are over, so that none is too short.
func pulseTime(o *model.Output) time.Duration { return o.Hold + time.Millisecond }

var behaviours = map[model.OutputKind]*behaviour{
	model.KindServo: {
		settles: func(o *model.Output, a model.Action, reach Range) time.Duration {
			return Settle(o, a.To, a.Over, a.Ease, reach)
		},
		unsettles: func(_ *model.Design, or *model.Order) string { return fmt.Sprintf("turns %q", or.Output) },
		form:      OnScale, start: func(p *played) { p.path = newServo(p.Output) },
		perform: func(p *played, a model.Action, m moment) {
			if a.By != 0 {
				p.path.(*servo).nudge(Nudge(p.Output, a.By), a.Over, a.Ease, m)
				return
			}
			addMove(p, a, m)
		},
		follow: func(p *played, c Call, m moment) { p.path.(*servo).follow(c.Voice, c.Action.To, m) },
		quit:   func(p *played, m moment) { p.path.(*servo).quit(m) },
		target: func(a model.Action) (float64, model.Ease) { return float64(a.To), a.Ease },
		reading: func(o *model.Output, value Range) string {
			return fmt.Sprintf("%v %.0fus", model.Degrees(math.Round(value.Lo)), Width(o, value).Lo)
		},
	},
	model.KindSpinner: {
		settles: ramps,
		restless: func(a model.Action) string {
			if a.Speed != 0 {
				return "turns"
			}
			return ""
		},
		form: OnScale, stops: true, start: func(p *played) { p.path = newSpinner(p.Output) }, perform: addMove,
		target:  func(a model.Action) (float64, model.Ease) { return float64(a.Speed), model.EaseLinear },
		reading: func(_ *model.Output, value Range) string { return fmt.Sprintf("%.2frev/s", value.Lo) },
	},
	model.KindPixels: {
		settles: ramps,
		restless: func(a model.Action) string {
			if a.Effect.Cycles() {
				return "shows " + string(a.Effect)
			}
			return ""
		},
		unsettles: func(_ *model.Design, or *model.Order) string {
			if or.Effect.Cycles() || or.Over > 0 {
				return fmt.Sprintf("has the light of %q change", or.Output)
			}
			return ""
		},
		form: InLights,
		perform: func(p *played, a model.Action, m moment) {
			if a.Toggle && p.strip.lit(a.First) {
				a.Effect, a.Colour = model.EffectSolid, model.Colour{}
			}
			p.strip.put(p.Output, a, m)
		},
		follow: func(p *played, c Call, m moment) { p.strip.follow(p.Output, c, m) },
		quit:   func(p *played, m moment) { p.strip.quit(m) },
	},
	model.KindPulse: {
		settles:   func(o *model.Output, _ model.Action, _ Range) time.Duration { return pulseTime(o) },
		goesOn:    pulseTime,
		unsettles: func(_ *model.Design, or *model.Order) string { return fmt.Sprintf("gives a pulse on %q", or.Output) },
		perform: func(p *played, a model.Action, m moment) {
			if a.Fire {
				p.active = append(p.active, stretch{m.time, m.time + p.Hold})
			}
		},
	},
	model.KindMessage: {
		form: InMessages,
		unsettles: func(d *model.Design, or *model.Order) string {
			for i := range d.Tracks {
				if t := &d.Tracks[i]; t.Play.Output == or.Output && t.Play.Value == or.Send {
					return fmt.Sprintf("plays the track %q", t.Name)
				}
			}
			return ""
		},
		perform: func(p *played, a model.Action, now moment) {
			for _, m := range p.Messages {
				if m.Name == a.Send {
					p.sent = append(p.sent, Sent{At: now.time, Message: m.Name, Bytes: m.Bytes})
				}
			}
		},
	},
	model.KindSwitch: {
		perform: func(p *played, a model.Action, m moment) {
			on := false
			if n := len(p.active); n > 0 {
				on = p.active[n-1].to == never
				p.active[n-1].to = min(p.active[n-1].to, m.time)
			}
			if a.Set || a.Toggle && !on {
				p.active = append(p.active, stretch{m.time, never})
			}
		},
	},
}

// FormOf is how what an output does can be shown.
func FormOf(o *model.Output) Form {
	if b := behaviours[o.Kind]; b != nil {
		return b.form
	}
	return OnOff
}

// Reading writes a value on an output's scale with its unit, for example
// "20deg 1600us".
func Reading(o *model.Output, value Range) string {
	if b := behaviours[o.Kind]; b != nil && b.reading != nil {
		return b.reading(o, value)
	}
	return ""
}

func addMove(p *played, a model.Action, m moment) {
	to, ease := p.target(a)
	p.path.move(to, a.Over, ease, m)
}

// newPlayed is an output at power-up; its kind has a behaviour.
func newPlayed(o *model.Output) *played {
	p := &played{Output: o, behaviour: behaviours[o.Kind]}
	if p.behaviour == nil {
		p.behaviour = &behaviour{}
	}
	if p.start != nil {
		p.start(p)
	}
	return p
}
