package check_test

import (
	"testing"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/machine"
	"propwright/model/random"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// behaving draws designs that are all behaviour.
var behaving = random.Size{
	States:      random.Range{Lo: 1, Hi: 6},
	Buttons:     random.Range{Lo: 1, Hi: 4},
	Inputs:      random.Range{Lo: 0, Hi: 2},
	Events:      random.Range{Lo: 0, Hi: 1},
	Outputs:     random.Range{Lo: 0, Hi: 1},
	Routines:    random.Range{Lo: 0, Hi: 4},
	Transitions: random.Range{Lo: 0, Hi: 25},
	Ambiguous:   true,
}

// TestWitnessesReplay plays every finding's witness of every test design.
func TestWitnessesReplay(t *testing.T) {
	for _, name := range designs.Names() {
		data, err := designs.FS.ReadFile(name)
		require.NoError(t, err)
		d, err := model.Read(name, data)
		require.NoError(t, err)
		replay(t, d)
	}
}

func TestWitnessesOfRandomDesignsReplay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { replay(t, behaving.Design(t)) })
}

func replay(t require.TestingT, d *model.Design) check.Findings {
	p := machine.Compile(d)
	found, err := check.NewStudy(d).Check(check.Rules())
	require.NoError(t, err)
	unreachable := map[string]bool{"": true}
	for i := range found {
		if found[i].Rule == "unreachable-state" {
			unreachable[found[i].State] = true
		}
	}
	for i := range found {
		f := &found[i]
		assert.NoError(t, f.Replay(p), "%s: %s\n%v, draws %v, to claim %+v\n%s", f.Rule, f.Message, f.Witness, f.Draws, f.Claim, d.Format())
		assert.NotEmpty(t, f.Advice, f.Rule)
		// What is about a state that can be reached has something to show.
		if f.Claim == (check.Claim{}) && !mayHaveNone(d) {
			assert.True(t, unreachable[f.State], "%s: %s\n%s", f.Rule, f.Message, d.Format())
		}
	}
	return found
}

// mayHaveNone reports whether a release is waited for, where the times of a witness
// may not be met.
func mayHaveNone(d *model.Design) bool {
	for i := range d.Transitions {
		t := &d.Transitions[i]
		for j := range t.On {
			if t.On[j].Kind == model.Release {
				return true
			}
		}
	}
	return false
}
