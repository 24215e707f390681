package check_test

import (
	"errors"
	"io/fs"
	"path/filepath"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/machine"
	"propwright/model/random"
	"propwright/model/timed"

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
	Transitions: random.Range{Lo: 0, Hi: 12},
	Ambiguous:   true,
}

// TestWitnessesReplay plays every finding's witness of every example and of the designs
// kept for the oracle.
func TestWitnessesReplay(t *testing.T) {
	names, err := fs.Glob(designs.FS, "*.prop.toml")
	require.NoError(t, err)
	for _, name := range names {
		data, err := designs.FS.ReadFile(name)
		require.NoError(t, err)
		d, err := model.Read(name, data)
		require.NoError(t, err)
		replay(t, d)
	}
	kept, err := filepath.Glob("testdata/oracle/*.prop.toml")
	require.NoError(t, err)
	require.NotEmpty(t, kept)
	for _, file := range kept {
		d, err := model.Load(file)
		require.NoError(t, err)
		replay(t, d)
	}
}

func TestWitnessesOfRandomDesignsReplay(t *testing.T) {
	checkBehaving(t, func(t *rapid.T, s *check.Study) { replayAll(t, s) })
}

// checkBehaving checks something of random designs, but for those of which much can
// come about. They are one in twenty, and would take most of the time, one of them
// minutes.
func checkBehaving(t *testing.T, holds func(t *rapid.T, s *check.Study)) {
	drawn, large := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		d := behaving.Design(t)
		requirements(t, d, 100*time.Millisecond, 600)
		s := check.Limited(d, 1<<20)
		_, err := s.Check(check.Rules())
		if drawn++; errors.Is(err, check.ErrTooLarge) {
			large++
			return
		}
		holds(t, s)
	})
	assert.LessOrEqual(t, large, 2+drawn/2)
}

func replay(t require.TestingT, d *model.Design) check.Findings {
	return replayAll(t, check.NewStudy(d))
}

func replayAll(t require.TestingT, s *check.Study) check.Findings {
	d, p := s.Written, s.Program
	found, err := s.Check(check.Rules())
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
		if f.Claim == (check.Claim{}) && !mayHaveNone(d) && !onlyPasses(p, f.State) {
			assert.True(t, unreachable[f.State], "%s: %s\n%s", f.Rule, f.Message, d.Format())
		}
	}
	return found
}

// onlyPasses reports whether a state is left in the same step whenever it is entered, as
// where a longer hold of the same button is told by the same frame: nobody can be shown it.
func onlyPasses(p *machine.Program, state string) bool {
	s, ok := p.State(state)
	if !ok {
		return false
	}
	x := timed.Explore(p, timed.Options{Rest: make([]int64, len(p.Design.States)), Period: 110, Bytes: 1 << 30})
	_, stays := x.First(s)
	return x.Reaches(s) && !stays
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
