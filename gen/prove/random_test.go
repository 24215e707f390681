package prove

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/random"
)

// Designs that nobody thought of follow the reference machine too, on the chip
// and on the portable board: acts at random, and after each of them both are in
// the same configuration.
func TestFirmwareOfRandomDesigns(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, c := range []struct {
		board         string
		designs, acts int
	}{{"atmega328p", 2, 10}, {"atmega2560", 1, 10}, {"atmega32u4", 1, 10}, {portable, 8, 20}} {
		g := rapid.Custom(random.Usual.Design)
		for i, left := 0, c.designs; left > 0; i++ {
			require.Less(t, i, 1000, "too few of the random designs can be run")
			d := g.Example(i)
			d.Prop.Board = c.board
			if !playable(t, d) {
				continue
			}
			left--
			t.Run(fmt.Sprint(c.board, " ", i), func(t *testing.T) {
				t.Parallel()
				play(t, d, uint64(i), c.acts)
			})
		}
	}
}

// playable reports whether a design can be built for its board and compared
// act by act: a bench that is a millisecond off must not see another state,
// and raw codes cannot be sent.
func playable(t *testing.T, d *model.Design) bool {
	if breaks(t, d, "pin-cannot", "pin-clash", "ambiguous-trigger", "instant-loop", "code-clash", "alias-clash", "hold-without-repeat") {
		return false
	}
	quick := func(d time.Duration) bool { return d < 100*time.Millisecond }
	return !slices.ContainsFunc(d.Routines, func(r model.Routine) bool { return quick(d.RoutineLength(&r)) }) &&
		!slices.ContainsFunc(d.Transitions, func(tr model.Transition) bool {
			return slices.ContainsFunc(tr.On, func(on model.Trigger) bool { return on.Kind == model.After && quick(on.After.Lo) })
		}) &&
		!slices.ContainsFunc(d.Remote.Buttons, func(b model.Button) bool { return strings.HasPrefix(b.Code, "raw:") })
}

// breaks reports whether a design breaks one of some rules.
func breaks(t *testing.T, d *model.Design, ids ...string) bool {
	rules := slices.DeleteFunc(check.Rules(), func(r *check.Rule) bool { return !slices.Contains(ids, r.ID) })
	require.Len(t, rules, len(ids))
	found, err := check.NewStudy(d).Check(rules)
	require.NoError(t, err)
	return len(found) > 0
}

func play(t *testing.T, d *model.Design, seed uint64, acts int) {
	s := newStand(t, d, bench.Options{Watch: []string{"pw_state", "back", "deferred"}, Step: 80})
	r := rand.New(rand.NewPCG(seed, 1))
	s.to(20)
	for range acts {
		what := "wait"
		switch k := r.IntN(10); {
		case k < 5:
			button, hold := r.IntN(len(d.Remote.Buttons)), ms(0)
			if r.IntN(2) == 0 && s.codes[button].RepeatPeriod() > 0 {
				hold = ms(r.IntN(3000))
			}
			what = fmt.Sprintf("press %s for %d ms", d.Remote.Buttons[button].Name, hold)
			s.to(s.now() + 250) // or the same button would be taken for still held
			s.press(button, hold)
		case k < 7 && len(d.Inputs) > 0:
			what = "toggle"
			s.toggle(r.IntN(len(d.Inputs)))
		default:
			s.to(s.now() + ms(r.IntN(6000)))
		}
		s.settle()
		at := s.place()
		require.Equal(t, []uint8{uint8(at.state), uint8(at.back), uint8(at.deferred)}, s.configuration(),
			"state, back, deferred at %d ms, after %s\n%s", s.now(), what, d.Format())
	}
}
