package compare

import (
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/machine"
	"propwright/model/random"
)

func read(t require.TestingT, text string) *model.Design {
	d, err := model.Read("test.prop.toml", []byte(text))
	require.NoError(t, err)
	return d
}

// swap is an edit of the file's text.
type swap struct{ old, new string }

// edits are typical ones, each with all that must be said of it.
var edits = []struct {
	name  string
	swaps []swap
	says  []string
}{
	{
		name: "another target",
		swaps: []swap{{`on = "press five"
to = "squalling"`, `on = "press five"
to = "preening"`}},
		says: []string{"behaviour: press five in every ambient state: preening (squalling before)"},
	},
	{
		name: "a new routine, its state and its button",
		swaps: []swap{
			{"[[state]]\nname = \"roost\"", `[[routine]]
name = "bow"

[[routine.cue]]
at = "0s"
output = "neck"
to = "20deg"
over = "600ms"

[[state]]
name = "bowing"
kind = "performing"
plays = "bow"

[[state]]
name = "roost"`},
			{"[[transition]]\nfrom = \"roost\"", `[[transition]]
from = "watch"
on = "hold one for 1s"
to = "bowing"

[[transition]]
from = "roost"`},
		},
		says: []string{
			"behaviour: hold one for 1s in watch: bowing (nothing before)",
			"state: state bowing: kind performing, plays bow; press sleep → roost; press two → striking, when the routine ends; press hush, done → back",
			"routine: routine bow: 1 cue, takes 600ms",
		},
	},
	{
		name:  "a transition taken out",
		swaps: []swap{{`on = ["press hush", "after 90s"]`, `on = "after 90s"`}},
		says:  []string{"behaviour: press hush in watch: nothing now (roost before)"},
	},
	{
		name:  "a longer time",
		swaps: []swap{{`"after 90s"`, `"after 2m"`}, {"hold wake for 800ms", "hold wake for 1.2s"}},
		says: []string{
			"timing: the way to wade in watch: hold wake for 1.2s (hold wake for 800ms before)",
			"timing: the way to roost in watch: after 2m (after 90s before)",
		},
	},
	{
		name:  "another code",
		swaps: []swap{{"nec:0x04:0x18", "nec:0x04:0x19"}},
		says:  []string{"remote: code of button wake: nec:0x04:0x19 (nec:0x04:0x18 before)"},
	},
	{
		name:  "volts that are no longer said",
		swaps: []swap{{"volts = 6.0\n", ""}},
		says:  []string{"prop: volts of the supply: not said (6 before)"},
	},
	{
		name:  "another limit",
		swaps: []swap{{`max_speed = "120deg/s"`, `max_speed = "100deg/s"`}, {"rest_within = \"3s\"", "rest_within = \"4s\""}},
		says: []string{
			"output: max_speed of output wing: 100deg/s (120deg/s before)",
			"prop: rest_within of the prop: 4s (3s before)",
		},
	},
	{
		name:  "a slower last cue",
		swaps: []swap{{"over = \"1.5s\"\nease = \"linear\"", "over = \"2s\"\nease = \"linear\""}},
		says: []string{
			"timing: what routine spread takes: 5s (4.5s before)",
			"routine: cue in routine spread: at 3s, output wing, to 0deg, over 2s, ease linear",
			"routine: cue in routine spread: at 3s, output wing, to 0deg, over 1.5s, ease linear",
		},
	},
	{
		name:  "other names",
		swaps: []swap{{`"wade"`, `"paddle"`}, {`"press three"`, `"press pat"`}, {`name = "three"`, `name = "pat"`}},
		says: []string{
			"state: state wade: is called paddle now",
			"remote: button three: is called pat now",
		},
	},
	{
		name:  "at once instead of at the end",
		swaps: []swap{{"to = \"striking\"\ndefer = true", "to = \"striking\""}},
		says:  []string{"behaviour: press two in every performing state: striking (striking, when the routine ends before)"},
	},
	{
		name:  "another idle life and another look",
		swaps: []swap{{`between = ["-25deg", "25deg"]`, `between = ["-15deg", "25deg"]`}, {`wing = "10deg"`, `wing = "12deg"`}, {`label = "Wading"`, `label = "In the shallows"`}},
		says: []string{
			"state: drift neck in state wade: output neck, between -15deg, 25deg, every 1.5s..3s, over 1s..1.5s (output neck, between -25deg, 25deg, every 1.5s..3s, over 1s..1.5s before)",
			"state: pose wing in state wade: 12deg (10deg before)",
			"words: label of state wade: In the shallows (Wading before)",
		},
	},
	{
		name: "a state taken out",
		swaps: []swap{
			{"[[state]]\nname = \"squalling\"\nkind = \"performing\"\nplays = \"squall\"\n", ""},
			{"[[transition]]\nfrom = \"any ambient\"\non = \"press five\"\nto = \"squalling\"\n", ""},
		},
		says: []string{
			"behaviour: press five in every ambient state: nothing now (squalling before)",
			"state: state squalling: kind performing, plays squall",
		},
	},
}

func TestTypicalEdits(t *testing.T) {
	before := string(designs.HarbourHeron)
	for _, e := range edits {
		t.Run(e.name, func(t *testing.T) {
			after := before
			for _, s := range e.swaps {
				require.Contains(t, after, s.old)
				after = strings.ReplaceAll(after, s.old, s.new)
			}
			c := Compare(read(t, before), read(t, after))
			var says []string
			for _, x := range c.Changes {
				says = append(says, fmt.Sprintf("%s: %s", x.Area, x))
			}
			assert.Equal(t, e.says, says)
			assertMachinesAgree(t, c)
		})
	}
}

// assertMachinesAgree compares a verdict with what the reference machine does
// in both designs: every event in every state that both can get to.
func assertMachinesAgree(t require.TestingT, c *Comparison) {
	old, now := observe(t, c.Old.Design), observe(t, c.New.Design)
	for state, did := range old {
		does, ok := now[state]
		if !ok {
			continue
		}
		events := map[string]bool{}
		for e := range did {
			events[e] = true
		}
		for e := range does {
			events[e] = true
		}
		for e := range events {
			on, err := model.ParseTrigger(e)
			require.NoError(t, err)
			require.Equal(t, did[e] != does[e], c.Differs(state, on), "%s in %s: did %q, does %q", e, state, did[e], does[e])
		}
	}
}

// observe runs a design in the reference machine: what every event brings
// about in every state that presses, inputs and time lead to.
func observe(t require.TestingT, d *model.Design) map[string]map[string]string {
	p := machine.Compile(d)
	seen := map[string]map[string]string{}
	// A path is what to do from power-up: events to post, or -1 to wait for
	// what comes by itself.
	type path []machine.EventID
	run := func(at path) (*machine.Machine, *machine.Change) {
		m := machine.NewDrawing(p, func(_, hi uint32) uint32 { return hi })
		var last *machine.Change
		m.Observe = func(c machine.Change) { last = &c }
		for _, e := range at {
			last = nil
			if e < 0 {
				next, ok := m.Next()
				if !ok {
					return m, nil
				}
				m.AdvanceTo(next)
				continue
			}
			m.Post(e)
			m.Advance(1)
		}
		return m, last
	}
	todo := []path{nil}
	for len(todo) > 0 {
		at := todo[0]
		todo = todo[1:]
		m, _ := run(at)
		name := p.Name(m.State())
		if seen[name] != nil {
			continue
		}
		saw := map[string]string{}
		seen[name] = saw
		for _, deadline := range m.Deadlines() {
			on := d.Transitions[deadline.Timer.Transition].On[deadline.Timer.Trigger]
			saw[on.String()] = moveText(p, &deadline.Timer.Move)
		}
		if l := p.Length[m.State()]; l >= 0 { // nothing else happens before its end in these designs
			again, _ := run(at)
			var ended *machine.Change
			again.Observe = func(c machine.Change) {
				if c.Cause == machine.CauseDone && ended == nil {
					ended = &c
				}
			}
			again.AdvanceTo(again.Entered() + uint32(l) + 1)
			if ended != nil {
				saw["done"] = outcome(p, ended)
			}
		}
		for e := -1; e < len(p.Events); e++ {
			next := append(slices.Clone(at), machine.EventID(e))
			after, did := run(next)
			if e >= 0 {
				require.NotNil(t, did)
				saw[p.Events[e].String()] = outcome(p, did)
			}
			if seen[p.Name(after.State())] == nil {
				todo = append(todo, next)
			}
		}
	}
	return seen
}

func outcome(p *machine.Program, c *machine.Change) string {
	switch c.Outcome {
	case machine.Entered:
		if choice, _ := p.Choice(c.Move.Target); choice != nil {
			return leads(p, c.Move)
		}
		if c.Move.Target == machine.BackTarget {
			return "back"
		}
		return p.Name(c.To)
	case machine.Acted:
		return leads(p, c.Move)
	case machine.Deferred:
		return moveText(p, c.Move)
	}
	return ""
}

func moveText(p *machine.Program, m *machine.Move) string {
	text := "back"
	if m.Target != machine.BackTarget {
		text = leads(p, m)
	}
	if m.Defer {
		text += atEnd
	}
	return text
}

// A file in another order, and one that writes `any` out, do not differ.
func TestOrderIsNoDifference(t *testing.T) {
	before := read(t, string(designs.HarbourHeron))
	after := read(t, string(designs.HarbourHeron))
	slices.Reverse(after.States)
	slices.Reverse(after.Transitions)
	slices.Reverse(after.Outputs)
	slices.Reverse(after.Routines)
	slices.Reverse(after.Tracks)
	slices.Reverse(after.Remote.Buttons)
	for i := range after.States {
		slices.Reverse(after.States[i].Pose)
		slices.Reverse(after.States[i].Drift)
	}
	for i := range after.Transitions {
		slices.Reverse(after.Transitions[i].On)
	}
	after.Head = []string{"another comment"}
	after = read(t, string(after.Format()))
	c := Compare(before, after)
	assert.Empty(t, c.Changes)
	assert.True(t, c.Same())
	was := Facts(before)
	is := Facts(after)
	assert.Equal(t, was, is)
	assert.Contains(t, was, "behaviour: in watch, hold wake for 800ms → wade")
	assert.Contains(t, was, "routine: routine greet, cue: at 1.2s, output beak, to 8deg, over 300ms, ease smooth")

	text := string(designs.HarbourHeron)
	out := strings.Replace(text, "from = \"any ambient\"\non = \"press one\"", "from = [\"watch\", \"wade\"]\non = \"press one\"", 1)
	require.NotEqual(t, text, out)
	c = Compare(read(t, text), read(t, out))
	assert.Empty(t, c.Changes)
}

// Every number and every word of a design, changed, is a difference, and among
// its facts; a line left out is one unless it said what holds anyway.
func TestEachValueMatters(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	number, word := regexp.MustCompile(`\d+`), regexp.MustCompile(`"[a-z][a-z-]*"`)
	words := []string{"low", "none", "linear", "breathe", "dormant"}
	var texts []string
	for _, name := range []string{"bell-buoy.prop.toml", "lock-keeper.prop.toml"} {
		text, err := designs.FS.ReadFile(name)
		require.NoError(t, err)
		texts = append(texts, string(text))
	}
	kinds, err := os.ReadFile("../designs/odd/kinds.prop.toml")
	require.NoError(t, err)
	texts = append(texts, string(kinds))
	tried := 0
	for _, text := range texts {
		old := read(t, text)
		facts := Facts(old)
		lines := strings.Split(text, "\n")
		differs := func(i int, with string) bool {
			changed := slices.Clone(lines)
			changed[i] = with
			now, err := model.Read("test.prop.toml", []byte(strings.Join(changed, "\n")))
			if err != nil {
				return true // no file may say so
			}
			c := Compare(old, now)
			is := Facts(now)
			require.Equal(t, len(c.Changes) == 0, slices.Equal(facts, is), "%s: %s", lines[i], with)
			tried++
			return len(c.Changes) > 0
		}
		for i, line := range lines {
			key, value, ok := strings.Cut(line, "=")
			if !ok || strings.HasPrefix(line, "#") {
				continue
			}
			with := func(at []int, text string) string { return key + "=" + value[:at[0]] + text + value[at[1]:] }
			for _, at := range number.FindAllStringIndex(value, -1) {
				n, err := strconv.ParseUint(value[at[0]:at[1]], 10, 63)
				require.NoError(t, err)
				assert.True(t, differs(i, with(at, fmt.Sprint(n+1))), line)
			}
			for _, at := range word.FindAllStringIndex(value, -1) {
				for _, w := range words {
					if is := fmt.Sprintf("%q", w); is != value[at[0]:at[1]] {
						assert.True(t, differs(i, with(at, is)), "%s: %s", line, w)
					}
				}
			}
			for _, other := range [][2]string{{"true", "false"}, {"false", "true"}} {
				if v := strings.Replace(value, other[0], other[1], 1); v != value {
					assert.True(t, differs(i, key+"="+v), line)
				}
			}
			if !differs(i, "") {
				assert.Contains(t, []string{
					`rest = "0deg"`, `order = "grb"`, `active = "high"`, `ease = "smooth"`, `rest_within = "3s"`, `effect = "solid"`, `pull = "up"`, `note = ""`,
				}, line, "the default")
			}
		}
	}
	assert.Greater(t, tried, 200)
}

// A note of many lines is told on one.
func TestWordsStayOnOneLine(t *testing.T) {
	text := string(designs.HarbourHeron)
	after := strings.Replace(text, "[[state]]\nname = \"roost\"", "[[state]]\nname = \"roost\"\nnote = \"one\\ntwo 🦩\"", 1)
	require.NotEqual(t, text, after)
	c := Compare(read(t, text), read(t, after))
	require.Len(t, c.Changes, 1)
	assert.Equal(t, `note of state roost: one\ntwo 🦩 (not said before)`, c.Changes[0].String())
	assert.Equal(t, "one\ntwo 🦩", c.Changes[0].Is, "as it is for other programs")
	facts := Facts(c.New.Written)
	assert.Contains(t, facts, `words: state roost, note one\ntwo 🦩`)
}

func TestVerdicts(t *testing.T) {
	before := string(designs.HarbourHeron)
	after := strings.Replace(before, "[[transition]]\nfrom = \"roost\"\non = \"press wake\"\nto = \"watch\"\n", "", 1)
	require.NotEqual(t, before, after)
	c := Compare(read(t, before), read(t, after))
	v, err := c.Verdicts(check.Rules())
	require.NoError(t, err)
	var rules []string
	for _, f := range v.New {
		rules = append(rules, f.Rule)
	}
	assert.Contains(t, rules, "unreachable-state")
	assert.Empty(t, v.Gone)
	c = Compare(read(t, after), read(t, before))
	back, err := c.Verdicts(check.Rules())
	require.NoError(t, err)
	assert.Len(t, back.Gone, len(v.New))
	assert.Empty(t, back.New)
}

// A finding that names another line is the same one where that line has moved.
func TestVerdictsWhereverTheyStand(t *testing.T) {
	clash := string(designs.HarbourHeron) + "\n[[transition]]\nfrom = \"roost\"\non = \"press wake\"\nto = \"wade\"\n"
	c := Compare(read(t, clash), read(t, "\n\n# moved\n"+clash))
	v, err := c.Verdicts(check.Rules())
	require.NoError(t, err)
	assert.Empty(t, v.New)
	assert.Empty(t, v.Gone)
	found, err := c.New.Check(check.Rules())
	require.NoError(t, err)
	assert.Contains(t, found[0].Message, "line ")
}

// Two designs drawn at random differ where the machine says so; one does not
// differ from itself, and what is new one way is gone the other way.
func TestAnyTwoDesigns(t *testing.T) {
	size := random.Usual
	size.Comments = false
	rapid.Check(t, func(t *rapid.T) {
		d := size.Design(t)
		c := Compare(d, read(t, string(d.Format())))
		require.Empty(t, c.Changes)
		other := size.Design(t)
		there := Compare(d, other)
		back := Compare(other, d)
		count := func(c *Comparison, k Kind) (n int) {
			for _, x := range c.Changes {
				if x.Kind == k {
					n++
				}
			}
			return n
		}
		require.Equal(t, count(there, Renamed), count(back, Renamed))
	})
}
