package check

import (
	"cmp"
	"fmt"
	"slices"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
	"propwright/model/timed"
)

func slowStop(p *Pass) {
	limit := p.Design.Prop.RestWithin
	if limit <= 0 {
		return
	}
	stops, _ := stops.Of(p.Study)
	var slow []int
	for i, s := range stops {
		if !s.fails() && ms(s.took) > limit { // no-stop reports those that fail
			slow = append(slow, i)
		}
	}
	slices.SortStableFunc(slow, func(i, j int) int { return cmp.Compare(stops[j].took, stops[i].took) })
	for _, i := range slow {
		state, s := &p.Design.States[i], &stops[i]
		message := fmt.Sprintf("the stop button %q, pressed in state %q, can take %s to bring the prop to rest", p.Design.Remote.Stop, state.Name, model.SayDuration(ms(s.took)))
		asks := "; rest_within asks for " + model.SayDuration(limit)
		p.report(report{
			Finding: Finding{
				Pos: state.Pos, State: state.Name,
				Message: message + asks,
				Advice:  fmt.Sprintf("let \"press %s\" lead to a dormant state at once, without defer, and let nothing wake the prop when it is let go; or shorten what comes before; or say a longer rest_within", p.Design.Remote.Stop),
			},
			same:  "too slow", // one finding, about the slowest
			cause: p.slowAtRest(s),
			show: func(f *Finding) {
				run := s.slowest.Run(0)
				if t := p.outlasting(run.State()); t != nil {
					f.Message = fmt.Sprintf("%s, as nothing silences the track %q%s", message, t.Name, asks)
					f.Advice = fmt.Sprintf("give the track %q a stop, or say a longer rest_within", t.Name)
				} else if o := p.slowest(run.State(), s.took); o != nil {
					f.Message = fmt.Sprintf("%s, as the output %q may need that long%s", message, o.Name, asks)
					f.Advice = "say a longer rest_within"
					if o.MaxSpeed > 0 || o.MaxAccel > 0 {
						f.Advice = fmt.Sprintf("give %q a higher max_speed and max_accel, if its mechanism stands that, or %s", o.Name, f.Advice)
					}
					if to := &p.Design.States[run.State()]; to.Over > 0 {
						f.Advice = fmt.Sprintf("shorten over in state %q, or %s", to.Name, f.Advice)
					}
				}
				f.shows(run, Claim{State: p.Program.Name(run.State()), Took: ms(s.took)})
			},
		})
	}
}

// slowAtRest returns the dormant state that stop leads to at once, and its time to come
// to rest, if that time is all that stop takes; else "".
func (p *Pass) slowAtRest(s *stop) string {
	if to := s.slowest.Event.State(); p.rests(to) && s.took <= p.restTimes()[to] {
		return fmt.Sprint(p.Program.Name(to), " ", s.took)
	}
	return ""
}

// outlasting returns the track that can sound on in a state after everything else has
// come to rest, or nil.
func (p *Pass) outlasting(s machine.StateID) *model.Track {
	l := lingering(p.Program)[s]
	if still := motion.NewRest(p.Design).In(&p.Design.States[s]).Still; ms(l.on) > still {
		return l.track
	}
	return nil
}

// slowest returns the output that comes to rest last in the state that stop leads to at
// once, or nil if something else takes the time.
func (p *Pass) slowest(s machine.StateID, took int64) *model.Output {
	if took > p.restTimes()[s] {
		return nil // time passes before this state is entered
	}
	return p.Design.Output(motion.NewRest(p.Design).In(&p.Design.States[s]).Last)
}

// neverRests leaves out what other rules report as errors: states from which no
// dormant state can be reached, performances without an end, instant loops.
func neverRests(p *Pass) {
	waits := p.waitingForEnd()
	for _, d := range p.explored.Alone().Divergences() {
		state := &p.Design.States[d.State]
		if d.Circle == 0 {
			if _, unfinished := p.unfinished(d.State, waits[d.State]); unfinished {
				continue
			}
			p.restlessAlone(d, Finding{
				Pos:     state.Pos,
				Message: fmt.Sprintf("left alone in state %q, the prop never goes to rest", state.Name),
				Advice:  fmt.Sprintf("add a transition from %q on \"after 5m\", or the like, that leads to rest in the end", state.Name),
			})
			continue
		}
		p.restlessAlone(d, Finding{
			Pos:     p.Design.States[d.States[0]].Pos,
			Message: fmt.Sprintf("left alone, the prop can go on and on through %s and never go to rest", p.list(d.States)),
			Advice:  "let one of them lead to rest after a while, whatever the timers draw",
		})
	}
}

// restlessAlone reports that the prop does not come to rest by itself.
func (p *Pass) restlessAlone(d timed.Component, f Finding) {
	f.State = p.Program.Name(d.State)
	p.reportAmong(d.States, report{Finding: f, show: func(f *Finding) {
		f.shows(d.Run(), Claim{State: f.State, Still: d.Circle == 0, Alone: true})
	}})
}
