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

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"
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

// poster is a hooks.cpp that posts one event when a pin goes high, and one when it goes low.
const (
	posterPin = 0 // where nothing is received
	poster    = `#include "hooks.h"
#include <Arduino.h>
#include "machine.h"
void hook_setup(void) { pinMode(0, INPUT); }
void hook_enter(uint8_t) {}
void hook_leave(uint8_t) {}
void hook_event(uint8_t) {}
void hook_loop(void)
{
    static bool was;
    bool is = digitalRead(0) == HIGH;
    if (is != was) {
        was = is;
        pw_post(is ? %d : %d);
    }
}
`
)

func play(t *testing.T, d *model.Design, seed uint64, acts int, all *tally) {
	program, hooks := machine.Compile(d), ""
	var events []machine.EventID
	for i := range d.Events {
		if e, ok := program.Event(model.Trigger{Kind: model.Posted, Name: d.Events[i].Name}); ok {
			events = append(events, e)
		}
	}
	if len(events) > 0 {
		hooks = fmt.Sprintf(poster, events[0], events[len(events)-1])
	}
	s := newStandWith(t, d, hooks, bench.Options{Pins: pinsOf(d), Watch: []string{"pw_state", "back", "deferred"}, Step: 80})
	s.chip.SetPin(posterPin, bench.Low, 0)
	for i := range d.Outputs {
		if bus := d.Outputs[i].Bus; bus != 0 {
			s.chip.SetDevice(int(bus), bench.Answers, 0)
		}
	}
	w := newWatch(s)
	r := rand.New(rand.NewPCG(seed, 1))
	s.to(20)
	posted := 0
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
		case k < 7 && len(events) > 0:
			what = "post"
			for !s.clear(s.now() + 1) {
				s.to(s.now() + 1)
			}
			posted++
			s.chip.SetPin(posterPin, posted%2 == 1, s.chip.Now())
			e := events[0]
			if posted%2 == 0 {
				e = events[len(events)-1]
			}
			s.coming = append(s.coming, arrival{s.now() + 1, func(ms) []machine.EventID { return []machine.EventID{e} }})
			s.to(s.now() + 1 + margin)
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
	require.Empty(t, w.look(), "%s", d.Format())
	s.compare()
	all.add(s, w, acts, posted)
}

// raced reports whether an event, such as a button's release, came within 2 ms of what the
// state does by itself, or an order to turn something over within as much of a cue: then
// the chip may rightly have had the other one first.
func (s *stand) raced() bool {
	const near = 2
	for i := 1; i < len(s.handled); i++ {
		a, b := &s.handled[i-1], &s.handled[i]
		if b.At-a.At <= near && (a.Cause == machine.CauseEvent) != (b.Cause == machine.CauseEvent) {
			return true
		}
	}
	now := time.Duration(s.now()) * time.Millisecond
	for i := range s.design.Outputs {
		asked := s.want.Asked(s.design.Outputs[i].Name, now)
		for j := 1; j < len(asked); j++ {
			if asked[j].At-asked[j-1].At <= near*time.Millisecond && asked[j].Action.Toggle != asked[j-1].Action.Toggle {
				return true
			}
		}
	}
	return false
}
