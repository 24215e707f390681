package motion

import (
	"time"

	"propwright/model"
)

// A scene is what a state goes on to do after its pose: its routine, round
// after round where it loops, and its drifts.
type scene struct {
	start  time.Duration // of this round
	calls  []Call
	next   int           // of calls
	round  time.Duration // length of one in whole milliseconds; 0: there is only one
	drifts []drift
}

// A drift with the time of its next idle move, which begins with a frame.
type drift struct {
	model.Drift
	due time.Duration
}

// never is later than any time that is asked for.
const never = time.Duration(1<<63 - 1)

func newScene(s *Stage, st *model.State, at time.Duration) scene {
	sc := scene{start: at}
	if r := s.design.Routine(st.Plays); r != nil {
		sc.calls = Sheet(s.design, r)
		if r.Loop {
			sc.round = s.design.RoutineLength(r).Round(time.Millisecond)
		}
	}
	for _, d := range st.Drift {
		sc.drifts = append(sc.drifts, drift{Drift: d, due: at.Truncate(Frame) + max(s.drawTime(d.Every), Frame)})
	}
	return sc
}

// drawTime draws a time of the span, the earliest where nothing is drawn.
func (s *Stage) drawTime(span model.Span) time.Duration {
	if s.draw == nil {
		return Frames(span.Lo)
	}
	return Frames(time.Duration(s.draw(float64(span.Lo), float64(span.Hi))))
}

// advance performs what is due up to and at a time, in order.
func (s *Stage) advance(to time.Duration) {
	for {
		call := s.scene.callDue()
		d, drifting := s.scene.driftDue()
		switch {
		case call <= min(to, drifting):
			c := s.scene.calls[s.scene.next]
			s.scene.next++
			s.perform(c, call)
			if t := s.design.Track(c.Track); t != nil {
				from, to := c.Heard(t)
				s.heard = append(s.heard, Heard{t.Name, call - c.At + from, call - c.At + to})
			}
			if c.Sound != nil {
				s.sounding[c.Sound.Stop] = call + c.Sound.Over
			}
		case drifting <= to:
			s.idle(d)
		default:
			s.now = max(s.now, to)
			return
		}
	}
}

// callDue is when the routine's next call is to be made, or never. At a
// round's end it begins the next one.
func (sc *scene) callDue() time.Duration {
	if sc.next == len(sc.calls) && sc.round > 0 {
		sc.start += sc.round
		sc.next = 0
	}
	if sc.next == len(sc.calls) {
		return never
	}
	return sc.start + sc.calls[sc.next].At
}

// driftDue is the first drift to move and when, or never.
func (sc *scene) driftDue() (*drift, time.Duration) {
	var first *drift
	for i := range sc.drifts {
		if d := &sc.drifts[i]; first == nil || d.due < first.due {
			first = d
		}
	}
	if first == nil {
		return nil, never
	}
	return first, first.due
}

// resume has an output drift on after an order, from the next frame at the earliest.
// Drawn moves go on by themselves.
func (sc *scene) resume(output string, at time.Duration) {
	for i := range sc.drifts {
		if d := &sc.drifts[i]; d.Output == output && d.due == never {
			d.due = at.Truncate(Frame) + Frame
		}
	}
}

// idle makes a drift's next move. Where nothing is drawn that is the only
// one before an order: from then on the output is somewhere between where it was, where it
// was going and the ends of the drift.
func (s *Stage) idle(d *drift) {
	p, m := s.outputs[d.Output], s.moment(d.due)
	d.due = never
	if p == nil || p.path == nil {
		return
	}
	if s.draw == nil {
		p.path.roam(Range{min(d.Between[0], d.Between[1]), max(d.Between[0], d.Between[1])}, m)
		return
	}
	p.path.move(s.draw(d.Between[0], d.Between[1]), s.drawTime(d.Over), model.EaseSmooth, m)
	d.due = m.time + max(s.drawTime(d.Every), Frame)
}
