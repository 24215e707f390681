package compare

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/machine"
	"propwright/model/random"
)

// Two timers of the demo that can be due at once, in one order and the other.
func TestOrderOfTimersOnATie(t *testing.T) {
	text := string(designs.HarbourHeron)
	const a = "[[transition]]\nfrom = \"watch\"\non = \"after 60s..2m\"\nto = \"wade\"\n\n"
	const b = "[[transition]]\nfrom = \"watch\"\non = [\"press hush\", \"after 90s\"]\nto = \"roost\"\n"
	require.Contains(t, text, b)
	before := read(t, strings.Replace(text, b, a+b, 1))
	after := read(t, strings.Replace(text, b, b+"\n"+a, 1))
	c := Compare(before, after)
	require.Len(t, c.Changes, 1)
	assert.Equal(t, AreaBehaviour, c.Changes[0].Area)
	assert.Equal(t, "after 1m..2m and after 90s in the same millisecond in watch: after 90s comes first (after 1m..2m comes first before)", c.Changes[0].String())
	assert.False(t, c.Same())
	was := Facts(before)
	is := Facts(after)
	assert.Contains(t, was, "behaviour: in watch, after 1m..2m and after 90s in the same millisecond: after 1m..2m comes first")
	assert.Contains(t, is, "behaviour: in watch, after 1m..2m and after 90s in the same millisecond: after 90s comes first")

	// Where it makes no difference none is shown: the same place, or never at once.
	for _, swap := range [][2]string{{`"wade"`, `"roost"`}, {"60s..2m", "91s..2m"}} {
		x := strings.Replace(a, swap[0], swap[1], 1)
		c := Compare(read(t, strings.Replace(text, b, x+b, 1)), read(t, strings.Replace(text, b, b+"\n"+x, 1)))
		assert.Empty(t, c.Changes, swap)
	}
}

// The reference machine is the witness: a design with its transitions in
// another order differs in a tie where the machine, with both timers drawn for
// the same millisecond, takes another one first, and in nothing else.
func TestTiesAreWhatTheMachineDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := timers(t)
		turned := read(t, string(d.Format()))
		order := rapid.Permutation(slices.Collect(func(yield func(int) bool) {
			for i := range d.Transitions {
				if !yield(i) {
					return
				}
			}
		})).Draw(t, "order")
		for i, from := range order {
			turned.Transitions[i] = d.Transitions[from]
		}
		c := Compare(d, turned)
		said := map[string]bool{} // state, tie
		for _, x := range c.Changes {
			require.Contains(t, x.Name, "in the same millisecond", x.String())
			for _, s := range x.States {
				said[s+": "+x.Name] = true
			}
		}
		was := machine.Compile(d)
		is := machine.Compile(turned)
		for s := range d.States {
			id := machine.StateID(s)
			all := was.Timers(id)
			for i := range all {
				for j := range i {
					a, b := &all[j], &all[i]
					at := max(a.Lo, b.Lo)
					if at > min(a.Hi, b.Hi) || a.Target == b.Target && a.Defer == b.Defer {
						continue
					}
					x, y := was.Trigger(&a.Move).String(), was.Trigger(&b.Move).String()
					w, n := firstAt(was, id, a, b, at), firstAt(is, id, a, b, at)
					if w != x && w != y || n != x && n != y {
						continue // another timer is before these
					}
					name := fmt.Sprintf("%s: %s", d.States[s].Name, tie{x, y})
					other := fmt.Sprintf("%s: %s", d.States[s].Name, tie{y, x})
					require.Equal(t, w != n, said[name] || said[other], "%s: %s, %s", name, w, n)
				}
			}
		}
	})
}

// timers draws a design whose states have timers of a few milliseconds.
func timers(t *rapid.T) *model.Design {
	var b strings.Builder
	b.WriteString("format = 1\n[prop]\nname = \"ties\"\nboard = \"atmega328p\"\n[remote]\npin = 2\nstop = \"b0\"\n[[routine]]\nname = \"play\"\nlength = \"10s\"\n")
	states := []string{"rest", "idle", "roam", "play"}
	for i, kind := range []string{"dormant", "ambient", "ambient", "performing\"\nplays = \"play"} {
		fmt.Fprintf(&b, "[[remote.button]]\nname = \"b%d\"\ncode = \"nec:0x01:0x0%d\"\n[[state]]\nname = \"%s\"\nkind = \"%s\"\n", i, i, states[i], kind)
	}
	for i, s := range states { // a way into every state
		fmt.Fprintf(&b, "[[transition]]\nfrom = \"any\"\non = \"press b%d\"\nto = \"%s\"\n", i, s)
	}
	seen := map[string]bool{}
	for range rapid.IntRange(2, 8).Draw(t, "timers") {
		from := rapid.SampledFrom(append([]string{"any", "any ambient"}, states...)).Draw(t, "from")
		lo := rapid.IntRange(0, 4).Draw(t, "lo")
		hi := lo + rapid.IntRange(0, 3).Draw(t, "wide")
		on := fmt.Sprintf("after %dms..%dms", lo, hi)
		if seen[from+on] {
			continue
		}
		seen[from+on] = true
		fmt.Fprintf(&b, "[[transition]]\nfrom = %q\non = %q\nto = %q\n", from, on, rapid.SampledFrom(states).Draw(t, "to"))
		if from == "play" && rapid.Bool().Draw(t, "defer") {
			b.WriteString("defer = true\n")
		}
	}
	return read(t, b.String())
}

// firstAt plays two timers that are drawn for the same moment, and says which
// the machine takes first.
func firstAt(p *machine.Program, s machine.StateID, a, b *machine.Timer, at uint32) string {
	m := machine.NewDrawing(p, func(lo, hi uint32) uint32 {
		if lo == a.Lo && hi == a.Hi || lo == b.Lo && hi == b.Hi {
			return at
		}
		return hi
	})
	first, entered := "", uint32(0)
	m.Observe = func(c machine.Change) {
		switch {
		case c.Cause == machine.CauseEvent && int(c.Event) == int(s) && entered == 0:
			entered = c.At
		case c.Cause == machine.CauseAfter && entered > 0 && first == "":
			if first = "another"; c.At == entered+at {
				first = p.Trigger(c.Move).String()
			}
		}
	}
	m.Post(machine.EventID(s))
	m.Advance(20)
	return first
}

// Cues for one output at one time: the last one counts. Those for other
// pixels of a strip have nothing to do with each other.
func TestOrderOfCuesAtOnce(t *testing.T) {
	text := string(designs.HarbourHeron)
	strip := func(colour string, first, last int) string {
		return fmt.Sprintf("[[routine.cue]]\nat = \"100ms\"\noutput = \"water\"\neffect = \"solid\"\ncolour = \"%s\"\nfirst = %d\nlast = %d\n\n", colour, first, last)
	}
	const neck, there = "[[routine.cue]]\nat = \"100ms\"\noutput = \"neck\"\nto = \"11deg\"\n\n", "[[routine.cue]]\nat = \"100ms\"\noutput = \"neck\"\nto = \"12deg\"\n\n"
	const head = "[[routine]]\nname = \"greet\"\n\n"
	require.Contains(t, text, head)
	with := func(cues ...string) *model.Design {
		return read(t, strings.Replace(text, head, head+strings.Join(cues, ""), 1))
	}
	for _, c := range []struct {
		what    string
		a, b    string
		differs bool
	}{
		{"one pixel of both", strip("#ff0000", 0, 1), strip("#0000ff", 1, 1), true},
		{"other pixels", strip("#ff0000", 0, 0), strip("#0000ff", 1, 1), false},
		{"a servo", neck, there, true},
		{"a servo and a strip", neck, strip("#0000ff", 0, 1), false},
		{"the same twice", neck, neck, false},
	} {
		one, other := with(c.a, c.b), with(c.b, c.a)
		x := Compare(one, other)
		assert.Equal(t, c.differs, !x.Same(), c.what)
		was := Facts(one)
		is := Facts(other)
		assert.Equal(t, c.differs, !slices.Equal(was, is), c.what)
	}
	x := Compare(with(neck, there), with(there, neck))
	require.NotEmpty(t, x.Changes)
	assert.Contains(t, x.Changes[0].String(), "output neck, to 11deg")
	assert.Contains(t, x.Changes[0].String(), "as number 2 of 2 at once")
}

// A file in any other order differs in nothing but what the order decides.
func TestAnyOrder(t *testing.T) {
	size := random.Usual
	size.Comments = false
	rapid.Check(t, func(t *rapid.T) {
		d := read(t, string(size.Design(t).Format()))
		turned := read(t, string(d.Format()))
		turn(t, turned.States)
		turn(t, turned.Transitions)
		turn(t, turned.Outputs)
		turn(t, turned.Inputs)
		turn(t, turned.Tracks)
		turn(t, turned.Routines)
		turn(t, turned.Requires)
		turn(t, turned.Remote.Buttons)
		for i := range turned.States {
			turn(t, turned.States[i].Pose)
			turn(t, turned.States[i].Drift)
		}
		for i := range turned.Routines {
			turn(t, turned.Routines[i].Cues)
		}
		for i := range turned.Outputs {
			turn(t, turned.Outputs[i].Messages)
		}
		for i := range turned.Transitions {
			turn(t, turned.Transitions[i].On)
			turn(t, turned.Transitions[i].From)
		}
		turned = read(t, string(turned.Format()))
		c := Compare(d, turned)
		for _, x := range c.Changes {
			if !strings.Contains(x.String(), " in the same millisecond ") && !strings.Contains(x.String(), " at once") {
				require.Fail(t, "differs", x.String())
			}
		}
		was := Facts(d)
		is := Facts(turned)
		require.Equal(t, len(c.Changes) == 0, slices.Equal(was, is))
	})
}

func turn[T any](t *rapid.T, list []T) {
	copy(list, rapid.Permutation(slices.Clone(list)).Draw(t, "order"))
}
