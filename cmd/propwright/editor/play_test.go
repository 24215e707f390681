package editor

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/cmd/propwright/editor/review"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
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

// A remote has a button 2; it is the one that 2 presses, wherever it is in the list.
func TestDigitsPressButtonsOfTheirName(t *testing.T) {
	t.Parallel()
	assert.Equal(t, []rune("12347"), digits([]control{{"sleep", model.SortButton}, {"2", model.SortButton}, {"3x", model.SortButton}, {"tail", model.SortInput}, {"7", model.SortButton}}))
	text := strings.NewReplacer(`"one"`, `"2"`, "press one", "press 2").Replace(string(designs.HarbourHeron))
	s := openScene(t, 80, 24, 16, []byte(text)).keys("F8").sees("1 sleep", "3 wake", "2 2", "9 hush").keys("3", "2").sees("press 2")
	assert.Equal(t, "2", played(s).Script().Lines[1].Act.Name)
}

// The state and the clock have a line together.
func TestStateAndClockInOneLine(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F8", "2", "4", "+", "+", "+").sees("paused at 10×")
	assert.Regexp(t, `performing for [0-9.]+s?…?  +0\.\d+s  paused at 10×`, s.text())
}

// Behind a dialog, and where it is not shown, the prop waits.
func TestClockWaitsBehindADialog(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F8", "Space")
	now := func() (at time.Duration) {
		s.do(func() { at = s.e.playView().player.Now() })
		return at
	}
	require.Eventually(t, func() bool { return now() > 0 }, waitFor, tick)
	s.keys("s")
	at := now()
	time.Sleep(4 * beat)
	assert.Equal(t, at, now())
	s.keys("Esc")
	require.Eventually(t, func() bool { return now() > at }, waitFor, tick)
	s.keys("F1", "Esc").sees("paused")
}
