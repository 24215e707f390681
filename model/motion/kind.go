package motion

import (
	"time"

	"propwright/model"
)

// A behaviour is what outputs of one kind do in time.
type behaviour struct {
	stops   bool // where a state neither poses nor moves it
	start   func(p *played)
	perform func(p *played, a model.Action, at time.Duration)
	// segment gives a lane's segment, of which Cue, Start and, the same, End
	// are set, how long it takes and where it goes. It comes before perform.
	segment func(p *played, a model.Action, s *Segment)
}

var behaviours = map[model.OutputKind]*behaviour{
	model.KindServo:   {start: startCourse, perform: addMove, segment: moveSegment},
	model.KindSpinner: {stops: true, start: startCourse, perform: addMove, segment: moveSegment},
	model.KindPixels: {
		perform: func(p *played, a model.Action, at time.Duration) { p.strip.put(p.Output, a, at) },
		segment: func(_ *played, a model.Action, s *Segment) { s.End += Frames(a.Over) },
	},
	model.KindPulse: {
		perform: func(p *played, a model.Action, at time.Duration) {
			if a.Fire {
				p.active = append(p.active, stretch{at, at + p.Hold})
			}
		},
		segment: func(p *played, a model.Action, s *Segment) {
			if a.Fire {
				s.End += p.Hold
			}
		},
	},
	model.KindMessage: {
		perform: func(p *played, a model.Action, at time.Duration) {
			for _, m := range p.Messages {
				if m.Name == a.Send {
					p.sent = append(p.sent, Sent{At: at, Message: m.Name, Bytes: m.Bytes})
				}
			}
		},
	},
	model.KindSwitch: {
		perform: func(p *played, a model.Action, at time.Duration) {
			if n := len(p.active); n > 0 {
				p.active[n-1].to = min(p.active[n-1].to, at)
			}
			if a.Set {
				p.active = append(p.active, stretch{at, never})
			}
		},
	},
}

func startCourse(p *played) { p.course = course{atRest(p.Output)} }

func addMove(p *played, a model.Action, at time.Duration) {
	p.course = append(p.course, p.course.move(p.Output, a, at))
}

func moveSegment(p *played, a model.Action, s *Segment) {
	m := p.course.move(p.Output, a, s.Start)
	s.End += m.over
	s.From, s.To = m.from.Lo, m.to.Lo
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
