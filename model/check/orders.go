package check

import (
	"fmt"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
)

// ordering returns the moves by which a state carries out orders.
func (p *Pass) ordering(s machine.StateID) (moves []*machine.Move) {
	add := func(m *machine.Move) {
		if m != nil && m.Do {
			moves = append(moves, m)
		}
	}
	for e := range p.Program.Events {
		add(p.Program.Move(s, machine.EventID(e)))
	}
	if p.Program.Length[s] >= 0 {
		add(p.Program.Done(s))
	}
	timers := p.Program.Timers(s)
	for i := range timers {
		add(&timers[i].Move)
	}
	return moves
}

// answers returns the transitions whose orders a state carries out, each once.
func (p *Pass) answers(s machine.StateID) (transitions []int) {
	for _, m := range p.ordering(s) {
		if !slices.Contains(transitions, m.Transition) {
			transitions = append(transitions, m.Transition)
		}
	}
	return transitions
}

// ordersIn returns the orders that transitions may give in a state, whether or not a
// higher rank overrides them.
func ordersIn(d *model.Design, s *model.State) (orders []*model.Order) {
	for i := range d.Transitions {
		t := &d.Transitions[i]
		if slices.ContainsFunc(t.From, func(f model.From) bool {
			return f.State == s.Name || f.State == model.Any && (f.Kind == "" || f.Kind == s.Kind)
		}) {
			for j := range t.Do {
				orders = append(orders, &t.Do[j])
			}
		}
	}
	return orders
}

// ordersAtRest reports orders that set something in motion in a dormant state. A switch
// or a steady light may be on there.
func ordersAtRest(p *Pass) {
	in := map[*model.Order][]machine.StateID{}
	var order []*model.Order
	for i := range p.Design.States {
		s := machine.StateID(i)
		if p.Program.Kind(s) != model.Dormant {
			continue
		}
		for _, t := range p.answers(s) {
			for j := range p.Design.Transitions[t].Do {
				or := &p.Design.Transitions[t].Do[j]
				if motion.Unsettles(p.Design, or) == "" {
					continue
				}
				if in[or] == nil {
					order = append(order, or)
				}
				in[or] = append(in[or], s)
			}
		}
	}
	for _, or := range order {
		p.reportAmong(in[or], report{Finding: Finding{
			Pos: or.Pos, State: p.Program.Name(in[or][0]),
			Message: fmt.Sprintf("an order in the dormant state %s %s", p.list(in[or]), motion.Unsettles(p.Design, or)),
			Advice:  `name "any ambient" and "any performing" in from, or other states: at rest only a switch, and a light that is steady at once, may be ordered`,
		}, show: p.showState})
	}
}

// orderTravel reports orders that a servo cannot carry out as they are.
func (p *Pass) orderTravel() {
	for i := range p.Design.Transitions {
		t := &p.Design.Transitions[i]
		for j := range t.Do {
			or := &t.Do[j]
			o := p.Design.Output(or.Output)
			if o == nil || o.Kind != model.KindServo {
				continue
			}
			what := fmt.Sprintf("an order on %q", t.On[0])
			switch way := o.Max - o.Min; {
			case or.By == 0:
				p.outside(&or.Source, "to", what, o, or.To)
			case or.By > way || or.By < -way:
				most := way
				if or.By < 0 {
					most = -way
				}
				p.Report(Finding{
					Pos:     or.At("by"),
					Message: fmt.Sprintf("%s sends %q further by %v, and its whole travel is %v", what, o.Name, or.By, way),
					Advice:  "write a smaller angle: as it stands the servo goes to the end of its travel",
					Fix:     fix(&or.Source, "by", most.String()),
				})
			}
		}
	}
}

// orderTooFast reports orders to turn further than the mechanism can in the given time.
// For orders to a place the distance is unknown.
func (p *Pass) orderTooFast() {
	for i := range p.Design.Transitions {
		t := &p.Design.Transitions[i]
		for j := range t.Do {
			or := &t.Do[j]
			o := p.Design.Output(or.Output)
			if o == nil || or.By == 0 || or.Over == 0 {
				continue
			}
			least, limit := leastTime(o, float64(or.By), or.Ease)
			if least <= or.Over+slack {
				continue
			}
			needs := model.FormatDuration(model.RoundUp(least - slack))
			p.Report(Finding{
				Pos:     or.At("over"),
				Message: fmt.Sprintf("an order on %q turns %q by %v in %s; by its %s it needs %s at the least", t.On[0], o.Name, or.By, model.FormatDuration(or.Over), limit, needs),
				Advice:  fmt.Sprintf("write over = %q or more, turn it less far, or leave over out", needs),
				Fix:     fix(&or.Source, "over", needs),
			})
		}
	}
}

// unheededOrders reports triggers on which a transition's orders are never carried out.
func unheededOrders(p *Pass) {
	heeded := map[[2]int]bool{} // transition and trigger
	for i := range p.Design.States {
		for _, m := range p.ordering(machine.StateID(i)) {
			heeded[[2]int{m.Transition, m.Trigger}] = true
		}
	}
	for i := range p.Design.Transitions {
		t := &p.Design.Transitions[i]
		if len(t.Do) == 0 {
			continue
		}
		for j := range t.On {
			if on := &t.On[j]; !heeded[[2]int{i, j}] {
				p.Report(Finding{
					Pos:     on.Pos,
					Message: fmt.Sprintf("what is ordered on %q is never carried out: in each of its states something else is said, or the trigger does not come", on),
					Advice:  "remove it, or let the transition that names the state carry out the orders",
				})
			}
		}
	}
}

// messageBacklog reports messages that a button's repeats order faster than the line
// sends them.
func messageBacklog(p *Pass) {
	for i := range p.Design.Transitions {
		t := &p.Design.Transitions[i]
		for j := range t.On {
			on := &t.On[j]
			b, ok := p.Program.Button(on.Name)
			if on.Kind != model.Repeated || !ok {
				continue
			}
			every := time.Duration(p.Program.Frames(b, uint32(RepeatPeriod(p.Design))).Period) * time.Millisecond
			line := map[string]time.Duration{} // by output
			for k := range t.Do {
				or := &t.Do[k]
				o := p.Design.Output(or.Output)
				if line[or.Output] += motion.Sending(o, or.Send); every > 0 && line[or.Output] > every {
					p.Report(Finding{
						Pos:     or.Pos,
						Message: fmt.Sprintf("each repeat of %q orders messages to %q that take %s, and the next one comes after %s: some are lost", on.Name, o.Name, model.FormatDuration(model.RoundUp(line[or.Output])), model.FormatDuration(every)),
						Advice:  fmt.Sprintf("wait for %q in place of its repeats, or send less", "press "+on.Name),
					})
					break
				}
			}
		}
	}
}
