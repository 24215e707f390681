package editor

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"propwright/model"
)

// A cell can lead to one of several states.
func TestChoicesInTheMatrix(t *testing.T) {
	t.Parallel()
	const on = "hold wake for 800ms"
	for _, c := range []struct{ offer, note, asks, to string }{
		{"one of several", "at random", "goes to any of", "any of watch, wade, greeting"},
		{"several in turn", "the next one each time", "goes in turn to", "in turn watch, wade, greeting"},
	} {
		s := newScene(t, 160, 50, 16)
		s.at("roost", on).keys("Enter").sees(c.offer, c.note).keys("'"+c.offer, "Enter")
		s.sees("roost, on "+on+", "+c.asks, "the states, with commas between: roost, watch, wade, greeting, ")
		s.keys("'watch", "Enter")
		assert.Empty(t, s.says("roost", on), "one state is no choice")
		s.keys("', wade, greeting", "Enter")
		var to string
		for i := range s.design().Transitions {
			if tr := &s.design().Transitions[i]; tr.From[0].State == "roost" && len(tr.On) == 1 && tr.On[0].String() == on {
				to = tr.To
			}
		}
		assert.Equal(t, c.to, to)
	}
}

// The panel says in a sentence how one of several states is chosen.
func TestMeaningOfChoices(t *testing.T) {
	for to, want := range map[string]string{
		"any of watch, wade, greeting":  "one of watch, wade, greeting at random, but not to where it went so the last time.",
		"in turn watch, wade, greeting": "watch, the next time to wade, then to greeting, and so on.",
		"in turn watch, wade":           "watch, the next time to wade, and so on.",
	} {
		tr := model.Transition{From: []model.From{{State: "roost"}}, On: []model.Trigger{{Kind: model.Press, Name: "one"}}, To: to}
		assert.Equal(t, "In roost, on press one, the prop goes to "+want, meaning(&model.Design{}, &tr))
		tr.Defer = true
		assert.Equal(t, "In roost, on press one, when the routine has ended, the prop goes to "+want, meaning(&model.Design{}, &tr))
	}
}
