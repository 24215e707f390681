package check

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/motion"
)

func overCurrent(p *Pass) {
	most := float64(p.Design.Supply.MaxMA)
	if most == 0 {
		return // no supply is given
	}
	kept := keptLights(p.Design)
	for i := range p.Design.States {
		s := &p.Design.States[i]
		sum, at, draws := newDraw(p.Design, s, kept).worst()
		if sum <= most+1e-6 {
			continue
		}
		when := fmt.Sprintf("on entering state %q", s.Name)
		if at > 0 {
			when = fmt.Sprintf("%s after state %q was entered", model.SayDuration(at), s.Name)
		}
		p.reportIn(Finding{
			Pos: s.Pos, State: s.Name,
			Message: fmt.Sprintf("%s everything together may draw %.0f mA, and the supply gives %.0f mA: %s", when, math.Ceil(sum), most, p.parts(draws)),
			Advice:  "move and light less at a time, or use a stronger supply, with thicker wires and its fuse to match",
		})
	}
}

// PeakMA returns the most that all outputs together may draw at once, in
// milliampere, as over-current counts it.
func PeakMA(d *model.Design) float64 {
	most, kept := 0.0, keptLights(d)
	for i := range d.States {
		sum, _, _ := newDraw(d, &d.States[i], kept).worst()
		most = max(most, sum)
	}
	return most
}

// keptLights returns the strips as a state may find them; nil for other outputs.
func keptLights(d *model.Design) []*lit {
	kept := make([]*lit, len(d.Outputs))
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Kind == model.KindPixels {
			kept[i] = newLit(d, o)
		}
	}
	return kept
}

// parts lists what the outputs draw, the most first.
func (p *Pass) parts(draws []float64) string {
	var parts []int
	for i, ma := range draws {
		if ma > 0 {
			parts = append(parts, i)
		}
	}
	slices.SortStableFunc(parts, func(i, j int) int { return cmp.Compare(draws[j], draws[i]) })
	words := make([]string, len(parts))
	for k, i := range parts {
		words[k] = fmt.Sprintf("%q %.0f", p.Design.Outputs[i].Name, draws[i])
	}
	return strings.Join(words, ", ")
}

// A draw is the current of all outputs in one state, over time.
type draw struct {
	design  *model.Design
	state   *model.State
	changes []change
	moving  []int  // [output] how many reasons it has to move
	lit     []*lit // [output], nil where it is not a strip
}

// A change happens at one time after the state's entry.
type change struct {
	at    time.Duration
	start bool // of a move or a light; at equal times starts come after ends
	apply func()
}

// newDraw plays a state's pose, its drifts, and its routine, twice if that
// repeats. It assumes that nothing is moving on entry, and that a strip which the
// state does not name is as bright as it ever gets.
func newDraw(d *model.Design, s *model.State, kept []*lit) *draw {
	w := &draw{design: d, state: s, moving: make([]int, len(d.Outputs)), lit: make([]*lit, len(d.Outputs))}
	r := d.Routine(s.Plays)
	var calls []motion.Call
	if r != nil {
		calls = motion.Sheet(d, r)
		if n := len(calls); r.Loop {
			length := d.RoutineLength(r).Round(time.Millisecond)
			for _, c := range calls[:n:n] {
				c.At += length
				calls = append(calls, c)
			}
		}
	}
	entries := motion.Entry(d, s)
	ordered := map[string]bool{}
	for _, or := range ordersIn(d, s) {
		ordered[or.Output] = true
	}
	for i := range d.Outputs {
		o := &d.Outputs[i]
		var own []motion.Call
		for _, c := range calls {
			if c.Output == o.Name {
				own = append(own, c)
			}
		}
		drifts := slices.ContainsFunc(s.Drift, func(dr model.Drift) bool { return dr.Output == o.Name })
		if drifts {
			w.moving[i] = 1
		}
		if kept[i] != nil {
			w.lit[i] = kept[i].clone()
		}
		if ordered[o.Name] { // an order may come at any time
			if o.Kind == model.KindServo {
				w.moving[i] = 1
			}
			continue
		}
		if draws := drawings[o.Kind]; draws != nil {
			entry := slices.DeleteFunc(slices.Clone(entries), func(c motion.Call) bool { return c.Output != o.Name })
			draws(w, i, r, append(entry, own...), len(entry) > 0)
		}
	}
	return w
}

// drawings record what outputs of a kind draw in time. own are the calls for one
// output; if entered, the first of them is made on entry. r, which may be nil, is the
// routine. Outputs of other kinds draw nothing.
var drawings = map[model.OutputKind]func(w *draw, output int, r *model.Routine, own []motion.Call, entered bool){
	model.KindServo: func(w *draw, output int, r *model.Routine, own []motion.Call, entered bool) {
		o := &w.design.Outputs[output]
		if entered {
			entry := own[0].Action
			until := motion.Settle(o, clamp(o, entry.To), entry.Over, entry.Ease, anywhere(o))
			if len(own) > 1 {
				until = min(until, own[1].At)
			}
			w.moves(output, 0, until)
		}
		if r != nil {
			w.legs(output, legs(w.design, r, o, nil))
		}
	},
	model.KindSpinner: func(w *draw, output int, _ *model.Routine, own []motion.Call, _ bool) {
		for k, c := range own {
			until := time.Duration(math.MaxInt64)
			if k+1 < len(own) {
				until = own[k+1].At
			}
			if c.Action.Speed == 0 { // it stops
				until = min(until, c.At+motion.Frames(c.Action.Over))
			}
			w.moves(output, c.At, until)
		}
	},
	model.KindPixels: func(w *draw, output int, _ *model.Routine, own []motion.Call, _ bool) {
		for _, c := range own {
			w.lights(w.lit[output], &w.design.Outputs[output], c)
		}
	},
}

// moves records that an output moves from one time to another.
func (w *draw) moves(output int, from, to time.Duration) {
	if to <= from {
		return
	}
	w.changes = append(w.changes,
		change{from, true, func() { w.moving[output]++ }},
		change{to, false, func() { w.moving[output]-- }})
}

// legs records a servo's moves, each until it ends or the next one begins.
func (w *draw) legs(output int, ls []leg) {
	for k := range ls {
		l := &ls[k]
		if l.from.Exact() && l.from.Lo == float64(l.to) {
			continue // it is there
		}
		until := l.at + l.rests
		if k+1 < len(ls) {
			until = min(until, ls[k+1].at)
		}
		w.moves(output, l.at, until)
	}
}

// worst returns the moment at which the outputs draw most together, the sum, and
// what each draws then.
func (w *draw) worst() (sum float64, at time.Duration, draws []float64) {
	w.changes = append(w.changes, change{0, true, func() {}})
	slices.SortStableFunc(w.changes, func(a, b change) int {
		if a.at != b.at || a.start == b.start {
			return cmp.Compare(a.at, b.at)
		}
		if b.start {
			return -1
		}
		return 1
	})
	sum = -1
	now := make([]float64, len(w.moving))
	for k, c := range w.changes {
		c.apply()
		if k+1 < len(w.changes) && w.changes[k+1].at == c.at {
			continue
		}
		total := 0.0
		for i := range now {
			now[i] = w.drawn(i)
			total += now[i]
		}
		if total > sum+1e-6 {
			sum, at, draws = total, c.at, slices.Clone(now)
		}
	}
	return sum, at, draws
}

// drawn returns what an output draws now, in milliampere.
func (w *draw) drawn(output int) float64 {
	o := &w.design.Outputs[output]
	if w.lit[output] != nil {
		return w.lit[output].draws()
	}
	return motion.MotorMA(o, w.moving[output] > 0)
}

// lit is what a strip may draw, in milliampere.
type lit struct {
	pixels []float64 // without spots
	peaks  []float64 // [pixel] the most that it may draw
	top    []int     // [pixel] the number of the light that it shows
	spots  []float64 // [light] what its spot draws more than its pixels do
	shown  []int     // [light] how many pixels show it
	sum    float64   // of pixels, and of the spots that are shown
	most   float64   // the strip cannot draw more
}

// newLit returns a strip as earlier states may have left it: each pixel as bright
// as it ever gets.
func newLit(d *model.Design, o *model.Output) *lit {
	dark := motion.Draws(o, model.Colour{})
	l := &lit{
		pixels: slices.Repeat([]float64{dark}, o.Count),
		peaks:  slices.Repeat([]float64{dark}, o.Count),
		top:    make([]int, o.Count),
		spots:  []float64{0},
		shown:  []int{o.Count},
	}
	brightest := dark
	see := func(output string, a model.Action) {
		if output != o.Name {
			return
		}
		g := glowOf(o, a)
		for i := g.first; i <= g.last; i++ {
			l.pixels[i] = max(l.pixels[i], g.stays)
			l.peaks[i] = max(l.peaks[i], g.stays, g.peak)
		}
		l.spots[0] = max(l.spots[0], g.spot)
		brightest = max(brightest, g.peak)
	}
	for i := range d.Routines {
		for j := range d.Routines[i].Cues {
			c := &d.Routines[i].Cues[j]
			see(c.Output, shown(c.Action, c.Follow.Track != ""))
		}
	}
	for i := range d.Transitions {
		for j := range d.Transitions[i].Do {
			see(d.Transitions[i].Do[j].Output, d.Transitions[i].Do[j].Action)
		}
	}
	for i := range d.States {
		for j := range d.States[i].Pose {
			see(d.States[i].Pose[j].Output, d.States[i].Pose[j].Action)
		}
	}
	for _, ma := range l.pixels {
		l.sum += ma
	}
	l.sum += l.spots[0]
	l.most = brightest * float64(o.Count)
	return l
}

func (l *lit) clone() *lit {
	c := *l
	c.pixels, c.peaks, c.top = slices.Clone(l.pixels), slices.Clone(l.peaks), slices.Clone(l.top)
	c.spots, c.shown = slices.Clone(l.spots), slices.Clone(l.shown)
	return &c
}

func (l *lit) draws() float64 { return min(l.sum, l.most) }

func (l *lit) set(pixel int, ma, peak float64) {
	l.sum += ma - l.pixels[pixel]
	l.pixels[pixel], l.peaks[pixel] = ma, peak
}

// lights shows a light on a stretch of a strip. The light fades in from the colour
// of the stretch's first pixel, so until then a pixel draws at most the greater of
// its old and new currents.
func (w *draw) lights(l *lit, o *model.Output, c motion.Call) {
	g := glowOf(o, shown(c.Action, c.Voice != nil))
	over := motion.Frames(c.Action.Over)
	number := 0
	w.changes = append(w.changes, change{c.At, true, func() {
		from := 0.0
		if over > 0 && g.first <= g.last && c.Action.Effect != model.EffectFade {
			from = l.peaks[g.first]
		}
		number = len(l.shown)
		l.spots, l.shown = append(l.spots, g.spot), append(l.shown, g.last-g.first+1)
		if g.first <= g.last {
			l.sum += g.spot
		}
		for i := g.first; i <= g.last; i++ {
			under := l.top[i]
			if l.shown[under]--; l.shown[under] == 0 {
				l.sum -= l.spots[under]
			}
			l.top[i] = number
			ma := g.stays
			if over > 0 && c.Action.Effect == model.EffectFade {
				ma = g.peak
			}
			l.set(i, max(ma, from), max(g.peak, from))
		}
	}})
	if over == 0 {
		return
	}
	w.changes = append(w.changes, change{c.At + over, false, func() {
		for i := g.first; i <= g.last; i++ {
			if l.top[i] == number {
				peak := g.peak
				if c.Action.Effect == model.EffectFade {
					peak = g.stays
				}
				l.set(i, g.stays, peak)
			}
		}
	}})
}

// A glow is the current of a light's pixels, in milliampere.
type glow struct {
	first, last int
	peak        float64 // the most that any pixel draws
	stays       float64 // the most that each pixel draws after the fade, without the spot
	spot        float64 // what the spot of a chase adds, over all its pixels
}

// shown returns what an action shows. A light that follows a voice is anything between
// its two colours.
func shown(a model.Action, follows bool) model.Action {
	if follows {
		a.Effect = model.EffectBreathe
	}
	return a
}

func glowOf(o *model.Output, a model.Action) glow {
	one, two := motion.Draws(o, a.Colour), motion.Draws(o, a.Colour2)
	first, last := o.Stretch(a)
	g := glow{first: max(first, 0), last: last, peak: max(one, two)}
	g.stays = g.peak
	switch a.Effect {
	case model.EffectFade:
		g.stays = two
	case model.EffectBreathe, model.EffectFlicker:
	case model.EffectChase:
		g.stays = two
		// The head is at full level, each of the three behind it a quarter
		// lower: ten quarters at the most.
		for i := range min(max(g.last-g.first+1, 0), 4) {
			g.spot += max(0, one-two) * float64(4-i) / 4
		}
	default:
		g.peak, g.stays = one, one
	}
	return g
}
