package check

import (
	"fmt"

	"propwright/model"
	"propwright/model/ir"
	"propwright/model/machine"
)

func aliasClash(p *Pass) {
	var known ir.Index
	seen := map[ir.Code]bool{}
	for i := range p.Design.Remote.Buttons {
		b := &p.Design.Remote.Buttons[i]
		c, err := ir.ParseCode(b.Code)
		if err != nil || seen[c] {
			continue // the same code again is a code-clash
		}
		seen[c] = true
		if other, clash := known.Find(c); clash {
			first, _, _ := p.sends(other.Name)
			p.Report(Finding{
				Pos: b.At("code"),
				Message: fmt.Sprintf("the buttons %q (%s) and %q (%s, line %d) may be taken for each other",
					b.Name, c, first.Name, other.Code, first.At("code").Line),
				Advice: "learn both again, or do without one of them",
			})
		}
		known.Add(ir.Named{Name: b.Name, Code: c})
	}
}

// holdWithoutRepeat relies on the fact that a button counts as held while its code
// is repeated.
func holdWithoutRepeat(p *Pass) {
	for i := range p.Design.Transitions {
		for j := range p.Design.Transitions[i].On {
			on := &p.Design.Transitions[i].On[j]
			if on.Kind != model.Hold {
				continue
			}
			b, c, ok := p.sends(on.Name)
			if !ok || c.RepeatPeriod() > 0 {
				continue
			}
			p.reportIn(Finding{
				Pos:   on.Pos,
				State: p.waits(*on),
				Message: fmt.Sprintf("%q never happens: the remote sends the code of %q (%s, line %d) once a press and not again while the button is down",
					on, b.Name, c, b.At("code").Line),
				Advice: "use a press instead, or another button; if the remote does repeat, learn it again and keep the button down",
			})
		}
	}
}

// togglePress reports the first such press only.
func togglePress(p *Pass) {
	for i := range p.Design.Transitions {
		for j := range p.Design.Transitions[i].On {
			on := &p.Design.Transitions[i].On[j]
			_, c, ok := p.sends(on.Name)
			if on.Kind != model.Press || !ok {
				continue
			}
			if known, _ := c.Known(); known.Wave.Repeat != ir.RepeatToggle {
				continue
			}
			p.reportIn(Finding{
				Pos:   on.Pos,
				State: p.waits(*on),
				Message: fmt.Sprintf("%q is told from a button kept down by the toggle bit of %s; a remote that learned the code from another may send the same bit every time, and then a press within %d ms of another one is missed",
					on, c.Protocol, machine.ReleaseAfter(c)),
				Advice: "press twice in a row with the very remote that will be used; if the second press is missed, leave more time between presses",
			})
			return
		}
	}
}

// sends returns a button and its code.
func (p *Pass) sends(name string) (*model.Button, ir.Code, bool) {
	for i := range p.Design.Remote.Buttons {
		if b := &p.Design.Remote.Buttons[i]; b.Name == name {
			c, err := ir.ParseCode(b.Code)
			return b, c, err == nil
		}
	}
	return nil, ir.Code{}, false
}

// waits returns the first state, in file order, that answers a trigger.
func (p *Pass) waits(on model.Trigger) string {
	e, ok := p.Program.Event(on)
	for s := range p.Design.States {
		if ok && p.Program.Move(machine.StateID(s), e) != nil {
			return p.Design.States[s].Name
		}
	}
	return ""
}
