package prove

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"
	"propwright/model/motion"
	"propwright/model/random"
)

// randomDesigns is how many designs are drawn for the ATmega328P, and randomSeed where the
// drawing begins. All that issue 500 of them:
//
//	nice go test -v -timeout 0 -run TestFirmwareOfRandomDesigns ./gen/prove -args -designs 500
var (
	randomDesigns = flag.Int("designs", 2, "how many random designs TestFirmwareOfRandomDesigns plays on the ATmega328P")
	randomSeed    = flag.Int("first", 21, "the seed of the first of them; the others count on")
)

// Designs that nobody thought of follow the reference machine too, on the chip and on the
// portable board: acts at random, and after each of them both are in the same
// configuration, and the outputs have done what the design asks.
func TestFirmwareOfRandomDesigns(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, c := range []struct {
		board                string
		first, designs, acts int
	}{{"atmega328p", *randomSeed, *randomDesigns, 10}, {"atmega2560", 0, 1, 10}, {"atmega32u4", 0, 1, 10}, {portable, 0, 6, 15}} {
		t.Run(c.board, func(t *testing.T) {
			var all tally
			t.Cleanup(func() { // when all are done
				t.Logf("%s", &all)
				assert.Positive(t, all.designs)
			})
			for seed, left := c.first, c.designs; left > 0; seed++ {
				require.Less(t, seed, c.first+100+20*c.designs, "too few of the random designs can be run")
				d := rapid.Custom(rich(seed%2 == 1).Design).Example(seed)
				d.Prop.Board = c.board
				sedate(d)
				if !playable(t, d) {
					continue
				}
				left--
				t.Run(fmt.Sprint(seed), func(t *testing.T) {
					t.Parallel()
					play(t, d.Wired(), uint64(seed), c.acts, &all)
				})
			}
		})
	}
}

// rich is a size of designs that have much to do.
func rich(expander bool) random.Size {
	size := random.Usual
	size.States = random.Range{Lo: 2, Hi: 6}
	size.Transitions = random.Range{Lo: 10, Hi: 24}
	size.Outputs = random.Range{Lo: 3, Hi: 7}
	size.Tracks = random.Range{Lo: 1, Hi: 2}
	size.Routines = random.Range{Lo: 2, Hi: 4}
	size.Comments = false
	size.Expander = expander
	return size
}

// A tally counts what has been done.
type tally struct {
	sync.Mutex
	sights
	designs, acts, orders, choices, follows, posted, expanders, raced int
}

func (n *tally) leave() {
	n.Lock()
	defer n.Unlock()
	n.raced++
}

func (n *tally) String() string {
	return fmt.Sprintf("%d designs, %d of them with an expander, and %d more that were left at a race; %d acts, of them %d events of the maker's code; "+
		"%d orders carried out, %d choices made, %d voices followed; %d pulses, %d refreshes, %d levels and %d messages looked at",
		n.designs, n.expanders, n.raced, n.acts, n.posted, n.orders, n.choices, n.follows, n.Pulses, n.Refreshes, n.Levels, n.Messages)
}

// add counts what a stand has done.
func (n *tally) add(s *stand, w *watch, acts, posted int) {
	n.Lock()
	defer n.Unlock()
	n.designs++
	n.acts += acts
	n.posted += posted
	n.sights.add(w.seen)
	if len(w.buses) > 0 {
		n.expanders++
	}
	for _, h := range s.handled {
		if h.Outcome == machine.Acted {
			n.orders++
			continue
		}
		if h.Outcome != machine.Entered {
			continue
		}
		if h.Move != nil {
			if c, _ := s.program.Choice(h.Move.Target); c != nil {
				n.choices++
			}
		}
		if r := s.design.Routine(s.design.States[h.To].Plays); r != nil {
			for i := range r.Cues {
				if r.Cues[i].Follow.Track != "" {
					n.follows++
				}
			}
		}
	}
}

// sedate makes a design's times long enough to be compared act by act, since a bench that
// is a millisecond off must not see another state, nor a pulse as long as that, and lets
// nothing drift that a routine moves (output-contest).
func sedate(d *model.Design) {
	const least = 100 * time.Millisecond
	if d.Prop.Seed == 0 { // both are to draw the same
		d.Prop.Seed = 1
	}
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Hold > 0 {
			o.Hold = max(o.Hold, 20*time.Millisecond)
		}
	}
	for i := range d.Routines {
		r := &d.Routines[i]
		r.Length = max(d.RoutineLength(r), least)
	}
	for i := range d.States {
		s := &d.States[i]
		if r := d.Routine(s.Plays); r != nil {
			s.Drift = slices.DeleteFunc(s.Drift, func(dr model.Drift) bool {
				return slices.ContainsFunc(r.Cues, func(c model.Cue) bool { return c.Output == dr.Output })
			})
		}
	}
	for i := range d.Transitions {
		for j := range d.Transitions[i].On {
			if after := &d.Transitions[i].On[j].After; d.Transitions[i].On[j].Kind == model.After && after.Lo < least {
				after.Lo, after.Hi = after.Lo+least, after.Hi+least
			}
		}
	}
}

// playable reports whether a design can be built for its board and played: raw codes
// cannot be sent.
func playable(t *testing.T, d *model.Design) bool {
	return !strings.HasPrefix(d.Remote.Buttons[0].Code, "raw:") &&
		!breaks(t, d, "pin-cannot", "pin-clash", "ambiguous-trigger", "code-clash", "alias-clash", "hold-without-repeat")
}

// breaks reports whether a design breaks one of some rules.
func breaks(t *testing.T, d *model.Design, ids ...string) bool {
	rules := slices.DeleteFunc(check.Rules(), func(r *check.Rule) bool { return !slices.Contains(ids, r.ID) })
	require.Len(t, rules, len(ids))
	found, err := check.NewStudy(d).Check(rules)
	require.NoError(t, err)
	return len(found) > 0
}

func play(t *testing.T, d *model.Design, seed uint64, acts int, all *tally) {
	f := &Firmware{Study: check.NewStudy(d)}
	require.NoError(t, f.Compile(build(t, d), t.TempDir()))
	s := f.begin(t, true, "back", "deferred")
	w := s.watch
	r := rand.New(rand.NewPCG(seed, 1))
	events, posted := len(d.Events)-len(f.left()), 0
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
		case k < 6 && len(d.Inputs) > 0:
			what = "toggle"
			s.toggle(r.IntN(len(d.Inputs)))
		case k < 7 && events > 0:
			what = "post"
			posted++
			s.postEvent(r.IntN(events))
		default:
			s.to(s.now() + ms(r.IntN(6000)))
		}
		s.settle()
		if s.raced() {
			all.leave()
			return
		}
		at := s.place()
		require.Equal(t, []uint8{uint8(at.state), uint8(at.back), uint8(at.deferred)}, s.configuration(),
			"state, back, deferred at %d ms, after %s\n%s", s.now(), what, d.Format())
		require.Empty(t, w.look(), "after %s\n%s", what, d.Format())
	}
	s.to(s.now() + 2*ms(settled/time.Millisecond))
	s.settle()
	if s.raced() {
		all.leave()
		return
	}
	require.Empty(t, w.look(), "%s", d.Format())
	s.compare()
	all.add(s.stand, w, acts, posted)
}

// raced reports whether two things came so near each other that the chip may rightly have
// had the other one first: an event, such as a button's release, and what the state does by
// itself, did or would have; an event that changes something and a cue; a frame of a button
// that is held and the end of a hold's time.
func (s *stand) raced() bool {
	var entered ms
	for i := range s.handled {
		h := &s.handled[i]
		event := h.Cause == machine.CauseEvent
		if i > 0 && h.At-s.handled[i-1].At <= near && (s.handled[i-1].Cause == machine.CauseEvent) != event {
			return true
		}
		switch {
		case h.Outcome == machine.Entered:
			if event && (h.due <= h.At+near || s.cueNear(h, entered, nil)) {
				return true
			}
			entered = h.At
		case h.Outcome == machine.Acted:
			if event && s.cueNear(h, entered, s.design.Transitions[h.Move.Transition].Do) {
				return true
			}
		}
	}
	return s.tie
}

// cueNear reports whether a change is near a cue of the state that was entered; with orders,
// near one for an output of theirs.
func (s *stand) cueNear(h *handled, entered ms, orders []model.Order) bool {
	r := s.design.Routine(s.design.States[h.From].Plays)
	if r == nil {
		return false
	}
	for _, call := range motion.Sheet(s.design, r) {
		named := orders == nil || slices.ContainsFunc(orders, func(o model.Order) bool { return o.Output == call.Output })
		after := time.Duration(h.At+near-entered)*time.Millisecond - call.At // near before it
		if r.Loop && after > 0 {
			after %= s.design.RoutineLength(r)
		}
		if named && 0 <= after && after <= 2*near*time.Millisecond {
			return true
		}
	}
	return false
}
