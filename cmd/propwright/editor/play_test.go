package editor

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/cmd/propwright/editor/review"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/random"
)

// What shows a finding is seen in rehearsal, step by step, with the deadlines
// that the check has found.
func TestWitnessesAreSeen(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	n, seen := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		d, err := model.Read("random", random.Design(t).Format())
		require.NoError(t, err)
		found, err := check.NewStudy(d).Check(check.Rules())
		if err != nil {
			t.Skip("too large to be checked")
		}
		n++
		k, err := newDesk(d, filepath.Join(dir, "no.prop.toml"))
		require.NoError(t, err)
		defer k.close()
		e := newEditor(nothing(), newTheme(16))
		e.sit(k)
		e.review.Stop()
		for _, f := range found {
			if len(f.Witness) == 0 {
				continue
			}
			e.review.Findings = []review.Finding{{Finding: f}}
			e.views[inFindings].(*findings).showWitness()
			for range f.Witness {
				e.playView().next()
			}
			assert.Contains(t, e.message, "this is what was found", f.Rule)
			v := e.playView()
			assert.Empty(t, v.steps)
			claim := f.Claim.State
			if claim == "" {
				continue
			}
			seen++
			// A state that takes no time is entered in the last millisecond.
			states := []string{v.player.State()}
			for _, ev := range v.player.Log() {
				if ev.At == v.player.Now() {
					states = append(states, ev.State)
				}
			}
			assert.Contains(t, states, claim, "%s: %s\n%v\n%s", f.Rule, f.Message, f.Witness, d.Format())
		}
	})
	t.Logf("%d witnesses of %d designs", seen, n)
	assert.Positive(t, seen)
}
