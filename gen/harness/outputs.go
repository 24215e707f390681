package harness

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
)

// An askView is an ask as the tables write it, and in words.
type askView struct{ Ask, Text string }

type routineView struct {
	Name  string
	Round int64
	Asks  []askView
}

// A kind writes the outputs of one kind and their asks.
type kind struct {
	output func(d *model.Design, o *model.Output) string
	ask    func(o *model.Output, a model.Action) string
}

// eases are the harness's names for the shapes of moves.
var eases = map[model.Ease]string{
	"": "smooth", model.EaseSmooth: "smooth", model.EaseLinear: "linear", model.EaseIn: "in", model.EaseOut: "out",
}

var kinds = map[model.OutputKind]kind{
	model.KindServo: {
		output: func(_ *model.Design, o *model.Output) string {
			return fmt.Sprintf("kind: servo, from: point{%v, %d}, to: point{%v, %d}, shortest: %d, longest: %d, rest: %v, maxSpeed: %v, maxAccel: %v",
				float64(o.Min), o.UsAtMin, float64(o.Max), o.UsAtMax, min(o.UsAtMin, o.UsAtMax), max(o.UsAtMin, o.UsAtMax),
				float64(o.Rest), float64(o.MaxSpeed), float64(o.MaxAccel))
		},
		ask: func(_ *model.Output, a model.Action) string {
			if a.By != 0 {
				return fmt.Sprintf("by: %v, over: %d, ease: %s", float64(a.By), millis(a.Over), eases[a.Ease])
			}
			return fmt.Sprintf("value: %v, over: %d, ease: %s", float64(a.To), millis(a.Over), eases[a.Ease])
		},
	},
	model.KindSpinner: {
		output: func(_ *model.Design, o *model.Output) string {
			ends := motion.Ends(o)
			text := fmt.Sprintf("kind: spinner, from: point{0, %d}, to: point{%v, %d}, shortest: %v, longest: %v",
				o.StopUs, float64(o.RevPerS), o.FullUs, ends.Lo, ends.Hi)
			if o.WiresPass {
				text += ", wired: true"
			}
			return text
		},
		ask: func(_ *model.Output, a model.Action) string {
			return fmt.Sprintf("value: %v, over: %d, ease: linear", float64(a.Speed), millis(a.Over))
		},
	},
	model.KindPixels: {
		output: func(_ *model.Design, o *model.Output) string {
			return fmt.Sprintf("kind: pixels, count: %d, order: %q", o.Count, cmp.Or(o.Order, "grb"))
		},
		ask: func(o *model.Output, a model.Action) string {
			first, last := o.Stretch(a)
			return fmt.Sprintf("over: %d, toggle: %t, light: light{%s, %s, %s, %d, %d, %d}", millis(a.Over), a.Toggle,
				cmp.Or(a.Effect, model.EffectSolid), rgb(o, a.Colour), rgb(o, a.Colour2), millis(a.Period), first, last)
		},
	},
	model.KindPulse: {
		output: func(_ *model.Design, o *model.Output) string {
			return fmt.Sprintf("kind: pulse, hold: %d", millis(o.Hold))
		},
		ask: func(_ *model.Output, a model.Action) string { return fmt.Sprintf("on: %t", a.Fire) },
	},
	model.KindMessage: {
		output: func(d *model.Design, o *model.Output) string {
			var all []string
			for _, m := range o.Messages {
				all = append(all, strings.TrimPrefix(fmt.Sprintf("%#v", m.Bytes), "[]byte"))
			}
			return fmt.Sprintf("kind: message, messages: [][]byte{%s}, waiting: %d", strings.Join(all, ", "), sketch.Outbox(d))
		},
		ask: func(o *model.Output, a model.Action) string {
			return fmt.Sprintf("number: %d", slices.IndexFunc(o.Messages, func(m model.Message) bool { return m.Name == a.Send }))
		},
	},
	model.KindSwitch: {
		output: func(*model.Design, *model.Output) string { return "kind: onOff" },
		ask: func(_ *model.Output, a model.Action) string {
			return fmt.Sprintf("on: %t, toggle: %t", a.Set, a.Toggle)
		},
	},
}

// millis returns a time in milliseconds, rounded up: moves and lights count in
// frames, which begin with a millisecond.
func millis(d time.Duration) int64 { return model.RoundUp(d).Milliseconds() }

// rgb returns a colour as bright as a strip shows it.
func rgb(o *model.Output, c model.Colour) string {
	c = motion.Scaled(o, c)
	return fmt.Sprintf("rgb{%d, %d, %d}", c.R, c.G, c.B)
}

// outputs writes the design's outputs, what each state asks of them on being
// entered, routines, drifts and stops.
func (v *view) outputs(p *machine.Program) {
	d := p.Design
	for i := range d.Outputs {
		o := &d.Outputs[i]
		text := fmt.Sprintf("name: %q, %s", o.Name, kinds[o.Kind].output(d, o))
		if motion.FormOf(o) == motion.OnScale {
			v.Expanded = append(v.Expanded, o.Bus != 0)
			if o.Bus != 0 {
				text += ", expanded: true"
			}
		}
		v.Outputs = append(v.Outputs, "{"+text+"}")
	}
	if !slices.Contains(v.Expanded, true) {
		v.Expanded = nil
	}
	for i := range d.Routines {
		r := &d.Routines[i]
		x := routineView{Name: r.Name}
		if r.Loop {
			x.Round = d.RoutineLength(r).Round(time.Millisecond).Milliseconds()
		}
		x.Asks = asks(d, motion.Sheet(d, r))
		v.Routines = append(v.Routines, x)
	}
	for _, i := range sketch.Orders(p) {
		var calls []motion.Call
		for _, or := range d.Transitions[i].Do {
			calls = append(calls, motion.Call{Output: or.Output, Action: or.Action})
		}
		v.Orders = append(v.Orders, asks(d, calls))
	}
	for _, stop := range motion.Stops(d) {
		v.Stops = append(v.Stops, newAsk(d, motion.Call{Output: stop.Output, Action: stop.Action()}))
	}
	for i := range d.States {
		s, x := &d.States[i], &v.States[i]
		x.Enter = asks(d, motion.Entry(d, s))
		x.Plays = "none"
		if n := slices.IndexFunc(d.Routines, func(r model.Routine) bool { return r.Name == s.Plays }); n >= 0 {
			x.Plays = fmt.Sprint(n)
		}
		for _, dr := range s.Drift {
			x.Drift = append(x.Drift, fmt.Sprintf("{%d, %v, %v, [2]uint32{%d, %d}, [2]uint32{%d, %d}}, // %s", index(d, dr.Output),
				dr.Between[0], dr.Between[1], millis(dr.Every.Lo), millis(dr.Every.Hi), millis(dr.Over.Lo), millis(dr.Over.Hi), dr.Output))
		}
	}
}

func index(d *model.Design, output string) int {
	return slices.IndexFunc(d.Outputs, func(o model.Output) bool { return o.Name == output })
}

func asks(d *model.Design, calls []motion.Call) (all []askView) {
	for _, c := range calls {
		all = append(all, newAsk(d, c))
	}
	return all
}

func newAsk(d *model.Design, c motion.Call) askView {
	o := d.Output(c.Output)
	text := fmt.Sprintf("at: %d, output: %d, %s", c.At.Milliseconds(), index(d, c.Output), kinds[o.Kind].ask(o, c.Action))
	if s := c.Sound; s != nil {
		text += fmt.Sprintf(", sound: %d, stop: %d", s.Over.Milliseconds(), slices.Index(motion.Stops(d), s.Stop))
	}
	if v := c.Voice; v != nil {
		loudness := ""
		for _, l := range v.Levels {
			loudness += fmt.Sprintf("%x", l)
		}
		text += fmt.Sprintf(", voice: &voice{%q, %d, %v, %v, %d, %d}", loudness, v.First, float64(v.Follow.Quiet), v.Follow.Gain,
			v.Follow.Attack.Milliseconds(), v.Follow.Release.Milliseconds())
	}
	return askView{Ask: "{" + text + "}", Text: strings.TrimSpace(o.Name + " " + o.Says(c.Action))}
}
