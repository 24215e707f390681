package sketch

import (
	"fmt"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/motion"
)

type cue struct {
	Title                 string // of the run that begins here
	Wait                  int
	What                  string
	Output, Value, Frames int
	Remark                string
}

type layer struct {
	Strip, First, Last int
	Remark             string
}

type light struct {
	Effect, Colour, Colour2 string
	Period                  int
	Remark                  string
}

type drift struct {
	Servo                            int
	Lo, Hi                           int
	EveryLo, EveryHi, OverLo, OverHi int
	Remark                           string
}

var moveNames = map[model.Ease]string{
	model.EaseLinear: "PW_CUE_LINEAR", model.EaseSmooth: "PW_CUE_SMOOTH",
	model.EaseIn: "PW_CUE_IN", model.EaseOut: "PW_CUE_OUT",
}

var effectNames = map[model.Effect]string{
	model.EffectSolid: "PW_SOLID", model.EffectFade: "PW_FADE", model.EffectBreathe: "PW_BREATHE",
	model.EffectChase: "PW_CHASE", model.EffectFlicker: "PW_FLICKER",
}

// longestWait is what one cue can wait, in milliseconds.
const longestWait = 60000

// score writes the states' poses and the routines they play as cues.
func (b *builder) score() {
	for i := range b.d.States {
		s, st := &b.d.States[i], &b.States[i]
		st.Pose = len(b.Cues)
		b.pose(s)
		st.PoseCount = len(b.Cues) - st.Pose
		if st.PoseCount > 0 {
			b.Cues[st.Pose].Title = "pose of " + s.Name
		}
		st.Drift = len(b.Drifts)
		for j := range s.Drift {
			b.drift(&s.Drift[j])
		}
		st.DriftCount = len(b.Drifts) - st.Drift
		b.MaxDrifts = max(b.MaxDrifts, st.DriftCount)
	}
	for i := range b.d.States {
		if r := b.d.Routine(b.d.States[i].Plays); r != nil {
			b.States[i].Routine = fmt.Sprint(b.routine(r))
		}
	}
	b.Stacked = b.stacked()
	if len(b.Cues) == 0 {
		b.Cues = append(b.Cues, cue{What: "PW_CUE_END", Remark: "nothing moves"})
	}
}

// stacked reports whether layers of light can lie on each other or out of the
// strips' order; else strip n's layer is layer n.
func (b *builder) stacked() bool {
	for i, l := range b.Layers {
		if l.Strip != i {
			return true
		}
	}
	return len(b.Layers) != len(b.Strips)
}

// pose lists what entering a state asks of the outputs: first of those that
// it does not name, as far as they are brought to rest, then of those it names.
func (b *builder) pose(s *model.State) {
	for i := range b.d.Outputs {
		o := &b.d.Outputs[i]
		if slices.ContainsFunc(s.Pose, func(p model.Pose) bool { return p.Output == o.Name }) {
			continue
		}
		rest := model.Action{To: o.Rest, Over: s.Over, Last: -1}
		switch {
		case s.Kind == model.Dormant && o.Kind != model.KindPulse && o.Kind != model.KindMessage:
			b.cue(o, rest, 0, "at rest")
		case o.Kind == model.KindSpinner && !b.moves(s, o.Name):
			b.cue(o, rest, 0, "stands still")
		}
	}
	for i := range s.Pose {
		p := &s.Pose[i]
		a := p.Action
		if !p.States("over") && a.Over == 0 {
			a.Over = s.Over
		}
		b.cue(b.d.Output(p.Output), a, 0, "")
	}
}

// moves reports whether a state's routine or drift names an output.
func (b *builder) moves(s *model.State, output string) bool {
	if slices.ContainsFunc(s.Drift, func(d model.Drift) bool { return d.Output == output }) {
		return true
	}
	r := b.d.Routine(s.Plays)
	return r != nil && slices.ContainsFunc(motion.Sheet(b.d, r), func(c motion.Call) bool { return c.Output == output })
}

// routine writes a routine once, however many states play it, and returns its
// first cue.
func (b *builder) routine(r *model.Routine) int {
	if at, ok := b.routineAt[r.Name]; ok {
		return at
	}
	first := len(b.Cues)
	b.routineAt[r.Name] = first
	var now time.Duration
	for _, call := range motion.Sheet(b.d, r) {
		c := &r.Cues[call.Cue]
		note := c.Note
		if t := b.d.Track(c.Track); t != nil {
			note = remark(t.Name, t.Note, note)
		}
		b.cue(b.d.Output(call.Output), call.Action, b.wait(call.At-now), note)
		now = call.At
	}
	end := cue{What: "PW_CUE_END"}
	if r.Loop {
		length := b.d.RoutineLength(r).Round(time.Millisecond)
		end = cue{What: "PW_CUE_LOOP", Value: first, Wait: b.wait(length - now)}
	}
	b.Cues = append(b.Cues, end)
	b.Cues[first].Title = remark("routine "+r.Name, r.Note)
	return first
}

// wait gives the milliseconds for one cue to wait; what is more than it can
// count goes into cues that only wait.
func (b *builder) wait(d time.Duration) int {
	ms := int(d / time.Millisecond)
	for ; ms > longestWait; ms -= longestWait {
		b.Cues = append(b.Cues, cue{What: "PW_CUE_WAIT", Wait: longestWait})
	}
	return ms
}

// cue writes one thing that is asked of an output.
func (b *builder) cue(o *model.Output, a model.Action, wait int, note string) {
	c := cue{Wait: wait}
	said := ""
	switch o.Kind {
	case model.KindServo:
		c.What, c.Output = moveNames[a.Ease], b.servoOf[o.Name]
		if c.What == "" {
			c.What = moveNames[model.EaseSmooth]
		}
		b.UsesSmooth = b.UsesSmooth || c.What == "PW_CUE_SMOOTH"
		b.UsesIn = b.UsesIn || c.What == "PW_CUE_IN"
		b.UsesOut = b.UsesOut || c.What == "PW_CUE_OUT"
		c.Value = b.clampWidth(o, float64(a.To))
		c.Frames = frames(a.Over)
		said = a.To.String()
	case model.KindSpinner:
		c.What, c.Output = "PW_CUE_LINEAR", b.servoOf[o.Name]
		c.Value = b.clampWidth(o, float64(a.Speed))
		c.Frames = frames(a.Over)
		said = a.Speed.String()
	case model.KindPixels:
		c.What = "PW_CUE_LIGHT"
		c.Output, c.Value = b.layer(o, a), b.light(o, a)
		c.Frames = frames(a.Over)
		said = fmt.Sprint(effectOf(a), " ", a.Colour)
	case model.KindPulse:
		if !a.Fire {
			return
		}
		c.What, c.Output = "PW_CUE_PULSE", b.pulseOf[o.Name]
	case model.KindMessage:
		c.What, c.Value = "PW_CUE_SEND", b.messageOf[a.Send]
		said = a.Send
	case model.KindSwitch:
		c.What, c.Output = "PW_CUE_SET", b.switchOf[o.Name]
		said = "off"
		if a.Set {
			c.Value, said = 1, "on"
		}
	}
	c.Remark = remark(o.Name+" "+said, note)
	b.Cues = append(b.Cues, c)
}

// clampWidth is a target's pulse width, kept within the output's travel.
func (b *builder) clampWidth(o *model.Output, value float64) int {
	s := b.Servos[b.servoOf[o.Name]]
	return min(max(width(o, value), s.Lowest), s.Highest)
}

func frames(d time.Duration) int { return int(motion.Frames(d) / motion.Frame) }

func effectOf(a model.Action) model.Effect {
	if a.Effect == "" {
		return model.EffectSolid
	}
	return a.Effect
}

// layer finds or adds the stretch of a strip that an action names.
func (b *builder) layer(o *model.Output, a model.Action) int {
	l := layer{Strip: b.stripOf[o.Name], First: a.First, Last: a.Last}
	if l.Last < 0 || l.Last >= o.Count {
		l.Last = o.Count - 1
	}
	l.Remark = fmt.Sprintf("%s %d..%d", o.Name, l.First, l.Last)
	n, ok := b.layerOf[l]
	if !ok {
		n = len(b.Layers)
		b.layerOf[l] = n
		b.Layers = append(b.Layers, l)
	}
	return n
}

// light finds or adds what an action shows.
func (b *builder) light(o *model.Output, a model.Action) int {
	e := effectOf(a)
	l := light{
		Effect: effectNames[e], Colour: wire(o, a.Colour), Colour2: wire(o, a.Colour2),
		Period: max(frames(a.Period), 1), Remark: fmt.Sprint(e, " ", a.Colour),
	}
	switch e {
	case model.EffectFade:
		b.UsesFade = true
	case model.EffectBreathe:
		b.UsesBreathe = true
	case model.EffectChase:
		b.UsesChase = true
	case model.EffectFlicker:
		b.UsesFlicker = true
	}
	n, ok := b.lightOf[l]
	if !ok {
		n = len(b.Lights)
		b.lightOf[l] = n
		b.Lights = append(b.Lights, l)
	}
	return n
}

func wire(o *model.Output, c model.Colour) string {
	w := motion.Wire(o, c)
	return fmt.Sprintf("{%d, %d, %d}", w[0], w[1], w[2])
}

func (b *builder) drift(d *model.Drift) {
	b.UsesSmooth = true // an idle move starts and ends at rest
	o := b.d.Output(d.Output)
	lo, hi := b.clampWidth(o, d.Between[0]), b.clampWidth(o, d.Between[1])
	b.Drifts = append(b.Drifts, drift{
		Servo: b.servoOf[o.Name], Lo: min(lo, hi), Hi: max(lo, hi),
		EveryLo: frames(d.Every.Lo), EveryHi: frames(d.Every.Hi),
		OverLo: frames(d.Over.Lo), OverHi: frames(d.Over.Hi),
		Remark: comment(o.Name),
	})
}
