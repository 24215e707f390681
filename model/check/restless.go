package check

import (
	"fmt"

	"propwright/model"
	"propwright/model/motion"
)

// restlessRest reports outputs that never come to rest in a dormant state, where hands
// go near the prop.
func restlessRest(p *Pass) {
	for _, u := range restless(p.Design) {
		p.reportIn(Finding{
			Pos:     u.Pos,
			State:   u.state,
			Message: fmt.Sprintf("in the dormant state %q the output %q never comes to rest: it %s", u.state, u.Output, u.What),
			Advice:  "make the state ambient, or let it only pose its outputs: a steady light and a switch that is on are rest",
		})
	}
}

// An unrest is an output that never comes to rest in a dormant state.
type unrest struct {
	state string
	motion.Unrest
}

// restless returns the first unrest of each output in each dormant state.
func restless(d *model.Design) (all []unrest) {
	rest := motion.NewRest(d)
	for i := range d.States {
		s := &d.States[i]
		if s.Kind != model.Dormant {
			continue
		}
		told := map[string]bool{}
		for _, u := range rest.In(s).Restless {
			if !told[u.Output] {
				told[u.Output] = true
				all = append(all, unrest{s.Name, u})
			}
		}
	}
	return all
}
