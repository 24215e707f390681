package check

import (
	"cmp"
	"fmt"
	"strings"

	"propwright/model"
	"propwright/model/ir"
)

var remoteRules = []*Rule{
	{"code-clash", "two buttons send the same code", Error, codeClash, reads},
	{"alias-clash", "two buttons' codes may be taken for each other", Error, aliasClash, reads},
	{"hold-without-repeat", "a hold, or repeats, of a button whose remote sends its code only once", Error, holdWithoutRepeat, reads},
	{"code-not-learned", "buttons whose codes are made up", Note, codeNotLearned, reads},
	{"toggle-press", "presses of a code with a toggle bit, which some remotes do not toggle", Note, togglePress, reads},
}

func codeClash(p *Pass) {
	first := map[string]int{}
	for i := range p.Design.Remote.Buttons {
		b := &p.Design.Remote.Buttons[i]
		code := strings.ToLower(b.Code)
		if c, err := ir.ParseCode(b.Code); err == nil {
			code = c.String()
		}
		if j, clash := first[code]; clash {
			other := &p.Design.Remote.Buttons[j]
			p.Report(Finding{
				Pos:     b.At("code"),
				Message: fmt.Sprintf("the buttons %q and %q (line %d) send the same code %s", b.Name, other.Name, other.At("code").Line, code),
				Advice:  "learn one of them again, or remove it",
			})
			continue
		}
		first[code] = i
	}
}

// codeNotLearned makes one finding for all such buttons.
func codeNotLearned(p *Pass) {
	var names []string
	var first *model.Button
	for i := range p.Design.Remote.Buttons {
		if b := &p.Design.Remote.Buttons[i]; b.Unlearned {
			first = cmp.Or(first, b)
			names = append(names, b.Name)
		}
	}
	switch len(names) {
	case 0:
	case 1:
		p.Report(Finding{
			Pos:     first.At("learned"),
			Message: fmt.Sprintf("the code of %q is made up", names[0]),
			Advice:  "learn it from your remote, with propwright learn or F3 and l in the editor",
		})
	default:
		p.Report(Finding{
			Pos:     first.At("learned"),
			Message: fmt.Sprintf("the codes of %d buttons are made up: %s", len(names), model.AndList(names, len(names))),
			Advice:  "learn them from your remote, with propwright learn or F3 and l in the editor",
		})
	}
}
