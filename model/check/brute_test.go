package check_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestBruteForce holds what the rules find in small random designs against
// testdata/oracle/oracle.py, which was written from the ten rules alone and tries
// every behaviour, millisecond by millisecond. Compared are the findings, their
// numbers, and how many steps their witnesses take.
//
// Designs on which the two once disagreed are in testdata/oracle. Not drawn, since
// the oracle does not know it: what moves in a dormant state, and protocols other
// than raw.
func TestBruteForce(t *testing.T) {
	designs := *bruteDesigns
	if testing.Short() {
		designs = 12
	}
	needsPython(t)
	dir := t.TempDir()
	files, err := filepath.Glob("testdata/oracle/*.prop.toml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for i := range designs {
		file := filepath.Join(dir, fmt.Sprintf("%04d.prop.toml", i))
		require.NoError(t, os.WriteFile(file, []byte(smallDesign(uint64(i))), 0o666))
		files = append(files, file)
	}
	var wg sync.WaitGroup
	for batch := range slices.Chunk(files, max(1, min(50, designs/2))) {
		wg.Add(1)
		batches <- struct{}{}
		go func() {
			defer wg.Done()
			defer func() { <-batches }()
			judged := askOracle(t, batch)
			for i, file := range batch {
				if list := differences(judged[i], askCheck(t, file)); len(list) > 0 {
					t.Errorf("%s\n%s", filepath.Base(file), strings.Join(list, "\n"))
				}
			}
		}()
	}
	wg.Wait()
}

var bruteDesigns = flag.Int("brute", 150, "how many designs TestBruteForce draws")

func needsPython(t *testing.T) {
	if _, err := exec.LookPath("python3"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%v; run testdata/setup", err)
		}
		t.Skipf("%v; run testdata/setup", err)
	}
}

// batches limits how many oracles run at a time.
var batches = make(chan struct{}, 2)

// A told is what a design is told under one rule about one thing. Keys are the
// rule and the state, the states of a trap in order with commas, or the requirement.
type told struct {
	Steps   *int              `json:"steps"`   // how few lead to what shows it; nil: nothing does
	Numbers map[string][]*int `json:"numbers"` // by state, in milliseconds; nil for never
}

// askOracle gives what the oracle tells each design.
func askOracle(t *testing.T, files []string) []map[string]told {
	all := make([]map[string]told, len(files))
	var stderr bytes.Buffer
	cmd := exec.Command("python3", append([]string{"testdata/oracle/oracle.py"}, files...)...)
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Errorf("%v\n%s", err, &stderr)
		return all
	}
	dec := json.NewDecoder(bytes.NewReader(out))
	for i := range all {
		if err := dec.Decode(&all[i]); err != nil {
			t.Error(err)
			break
		}
	}
	return all
}

// A finding is one of a check with the length of its witness.
type finding struct {
	check.Finding
	mayHaveNone bool
	least, most int // steps of its witness, if it has one, see steps
}

var (
	judgedByBoth = []string{"unreachable-state", "dead-end", "trap", "no-stop", "slow-stop", "unfinished-performance", "requirement"}
	quoted       = regexp.MustCompile(`"([^"]*)"`)
	inState      = regexp.MustCompile(`in state "([^"]*)"`)
	number       = regexp.MustCompile(`(?:can take|after) ([0-9.]+m?s)|(at once)|(need not)`)
)

// key is what the oracle calls what a finding is about.
func (f finding) key() string {
	switch f.Rule {
	case "requirement":
		return f.Rule + " " + quoted.FindStringSubmatch(f.Message)[1]
	case "trap":
		var states []string
		for _, m := range quoted.FindAllStringSubmatch(f.Message, -1) {
			states = append(states, m[1])
		}
		slices.Sort(states)
		return f.Rule + " " + strings.Join(states, ",")
	}
	return f.Rule + " " + f.State
}

// A turn is one of the three of a millisecond (rule 8) in which something comes.
type turn struct {
	changes []machine.Change
	steps   int // turns until then, it too, in which something comes on which something depends
}

// end is the state after a turn.
func (t *turn) end() machine.StateID { return t.changes[len(t.changes)-1].To }

// play plays a finding's witness.
func play(p *machine.Program, f *check.Finding) (turns []turn, err error) {
	m := (&check.Case{Draws: f.Draws}).Machine(p)
	n := 0
	m.Observe = func(c machine.Change) {
		if k := len(turns) - 1; k < 0 || turns[k].changes[0].At != c.At || turns[k].changes[0].Cause != c.Cause {
			if c.Cause != machine.CauseDone || c.Move != nil && !c.Move.Ignore && !c.Move.Do || defers(p, c.From) {
				n++
			}
			turns = append(turns, turn{steps: n})
		}
		t := &turns[len(turns)-1]
		t.changes = append(t.changes, c)
	}
	return turns, machine.Rehearse(m, check.RepeatPeriod(p.Design)).Play(f.Witness...)
}

// steps is how many steps a finding's witness has until what Finding.Witness says, at
// the least and at the most: of a trap it cannot be seen at which step of the last
// millisecond the way out is closed.
func steps(p *machine.Program, f *check.Finding) (least, most int, err error) {
	turns, err := play(p, f)
	if err != nil {
		return 0, 0, err
	}
	// to is how many steps there are until the first or the last turn that ok is true of.
	to := func(last bool, ok func(t *turn) bool) (n int) {
		n = -1
		for i := range turns {
			if (last || n < 0) && ok(&turns[i]) {
				n = turns[i].steps
			}
		}
		return n
	}
	about, _ := p.State(f.State)
	n := 0
	switch f.Rule {
	case "trap":
		if len(turns) == 0 {
			return 0, 0, nil
		}
		last := &turns[len(turns)-1]
		before := to(true, func(t *turn) bool { return t.changes[0].At < last.changes[0].At })
		return max(before, 0) + 1, last.steps, nil
	case "requirement":
		q, err := model.ParseRequirement(f.Claim.Breaks)
		if err != nil {
			return 0, 0, err
		}
		n = to(true, func(t *turn) bool {
			c := t.changes[0]
			ended := c.Cause == machine.CauseDone || c.Cause == machine.CauseDeferred
			return c.At == f.Claim.Event && ended == (q.After.Kind == model.Done) && (c.Cause == machine.CauseAfter) == (q.After.Kind == model.After)
		})
	case "no-stop", "slow-stop":
		stop, _ := p.Button(p.Design.Remote.Stop)
		var pressed machine.Change
		n = to(true, func(t *turn) bool {
			for _, c := range t.changes {
				if c.Cause == machine.CauseEvent && int(c.Event) == stop {
					pressed = c
					return true
				}
			}
			return false
		})
		// In a state that is left at once a press that does nothing is not played.
		deaf := !f.Claim.Still && f.Claim.Lap == 0 && f.Claim.Took == 0
		if last := len(turns) - 1; deaf && (n < 0 || pressed.Outcome == machine.Entered || pressed.To != about || pressed.At < turns[last].changes[0].At) {
			n = turns[last].steps + 1
		}
	default:
		if p.Start != about {
			n = to(false, func(t *turn) bool { return t.end() == about })
		}
	}
	return n, n, nil
}

// defers reports whether a state has a transition that waits for its routine's end.
func defers(p *machine.Program, s machine.StateID) bool {
	for e := range p.Events {
		if m := p.Move(s, machine.EventID(e)); m != nil && m.Defer {
			return true
		}
	}
	return slices.ContainsFunc(p.Timers(s), func(t machine.Timer) bool { return t.Defer })
}

func askCheck(t *testing.T, file string) map[string]finding {
	text, err := os.ReadFile(file)
	if !assert.NoError(t, err) {
		return nil
	}
	d, err := model.Read(file, text)
	if !assert.NoError(t, err) {
		return nil
	}
	found, err := check.NewStudy(d).Check(check.Rules())
	assert.NoError(t, err, file)
	p := machine.Compile(d)
	findings := map[string]finding{}
	for _, f := range found {
		if slices.Contains(judgedByBoth, f.Rule) {
			g := finding{Finding: f, mayHaveNone: mayHaveNone(d)}
			if f.Claim != (check.Claim{}) {
				g.least, g.most, err = steps(p, &f)
				assert.NoError(t, err, file)
			}
			findings[g.key()] = g
			for _, s := range f.States { // of which the same is true; what shows it shows the first
				if s != f.State {
					h := finding{Finding: f, mayHaveNone: true}
					h.State, h.Claim = s, check.Claim{}
					h.Message = strings.ReplaceAll(f.Message, fmt.Sprintf("state %q", f.State), fmt.Sprintf("state %q", s))
					findings[h.key()] = h
				}
			}
		}
	}
	return findings
}

// differences lists where the two disagree about a design.
func differences(want map[string]told, got map[string]finding) []string {
	var list []string
	for key := range want {
		if _, ok := got[key]; !ok {
			list = append(list, "not told: "+key)
		}
	}
	for key, f := range got {
		w, ok := want[key]
		_, unreachable := want["unreachable-state "+f.State]
		switch {
		case ok:
		case f.Rule == "unfinished-performance" && unreachable:
			continue // told of any state, while the oracle knows those that it gets to
		default:
			list = append(list, fmt.Sprintf("wrongly told: %s: %s", key, f.Message))
			continue
		}
		switch shown := f.Claim != (check.Claim{}); {
		case shown && w.Steps == nil:
			list = append(list, fmt.Sprintf("witness of %s: there should be none: %v", key, f.Witness))
		case shown && (*w.Steps < f.least || *w.Steps > f.most):
			list = append(list, fmt.Sprintf("witness of %s: %d steps are needed, not %d: %v", key, *w.Steps, f.most, f.Witness))
		case !shown && w.Steps != nil && !f.mayHaveNone:
			list = append(list, fmt.Sprintf("witness of %s: there is none, though %d steps lead to it", key, *w.Steps))
		}
		message := strings.Split(f.Message, "; rest_within")[0]
		if f.Rule == "requirement" {
			_, message, _ = strings.Cut(message, " is broken: ")
		}
		if f.Rule == "no-stop" {
			continue
		}
		if m := number.FindStringSubmatch(quoted.ReplaceAllString(message, "")); m != nil {
			took, _ := time.ParseDuration(m[1]) // "at once" is 0
			if !slices.ContainsFunc(w.Numbers[inState.FindStringSubmatch(f.Message)[1]], func(ms *int) bool {
				return ms == nil && m[3] != "" || ms != nil && m[3] == "" && time.Duration(*ms)*time.Millisecond == took
			}) {
				numbers, _ := json.Marshal(w.Numbers)
				list = append(list, fmt.Sprintf("number %s: %s, got %s", key, numbers, f.Message))
			}
		}
	}
	slices.Sort(list)
	return list
}

// smallDesign draws a design of 2 to 6 states whose times are a few milliseconds.
func smallDesign(seed uint64) string {
	d := &sketcher{Rand: rand.New(rand.NewPCG(seed, 0))}
	d.draw()
	return d.String()
}

// TestSmallDesignsAskOfEverything holds that nothing which brute force is to see is
// left out of what it draws.
func TestSmallDesignsAskOfEverything(t *testing.T) {
	var all strings.Builder
	for i := range *bruteDesigns {
		all.WriteString(smallDesign(uint64(i)))
	}
	for _, what := range []string{
		`"press `, `"hold `, `"release `, `"rise `, `"fall `, `"event `, `"done"`, `"after `, `"after 0s\.\.`,
		`any_of`, `in_turn`, `= "back"`, `defer = true`, `ignore = true`, `"any"`, `"any dormant"`,
		`"reachable `, `"from .* press `, `"never .* within .* after `, `"[^n].* within .* after `, `"dormant within `,
		`after hold `, `after event `, `after release `,
	} {
		assert.True(t, regexp.MustCompile(what).MatchString(all.String()), what)
	}
}

// A sketcher writes a design file of random content.
type sketcher struct {
	*rand.Rand
	strings.Builder
	states, kinds []string
	buttons       []string
	inputs        []string
	posted        []string        // events of the maker's code
	events        []string        // that transitions wait for
	taken         map[string]bool // state, rank and event that a transition has
}

func (d *sketcher) add(format string, args ...any) { fmt.Fprintf(d, format+"\n", args...) }
func (d *sketcher) chance(percent int) bool        { return d.IntN(100) < percent }
func (d *sketcher) pick(of ...string) string       { return of[d.IntN(len(of))] }

func (d *sketcher) draw() {
	d.buttons = []string{"s", "b", "c"}[:1+d.IntN(3)]
	d.taken = map[string]bool{}
	d.add("format = 1\n[prop]\nname = %q\nboard = %q\nrest_within = \"1ms\"", "drawn", "atmega328p")
	d.add("[remote]\npin = 2\nstop = %q", "s")
	period := 2 + 2*d.IntN(2)
	for i, b := range d.buttons {
		d.add("[[remote.button]]\nname = %q\ncode = \"raw:0x%02X:0x%08X\"", b, period, i+1)
	}
	d.add("[[output]]\nname = \"lamp\"\nkind = \"switch\"\npin = 12")
	if d.chance(50) {
		d.inputs = []string{"i", "j"}[:1+d.IntN(2)]
		for k, i := range d.inputs {
			d.add("[[input]]\nname = %q\npin = %d\npull = \"up\"\ndebounce = \"0ms\"", i, 7+k)
		}
	}
	if d.chance(40) {
		d.posted = []string{"e"}
		d.add("[[event]]\nname = %q", "e")
	}
	routines := []string{"short", "long", "round"}
	for i, name := range routines {
		d.add("[[routine]]\nname = %q\nloop = %v", name, name == "round")
		if length := []int{d.IntN(3), 3 + d.IntN(6), 5}[i]; length > 0 {
			d.add("length = \"%dms\"", length)
		}
		d.add("[[routine.cue]]\nat = \"0s\"\noutput = \"lamp\"\nset = true")
	}
	for i := range 2 + d.IntN(5) {
		kind := d.pick("dormant", "ambient", "performing", "performing")
		if i == 0 {
			kind = "dormant"
		}
		d.states, d.kinds = append(d.states, fmt.Sprintf("%s%d", kind[:1], i)), append(d.kinds, kind)
		d.add("[[state]]\nname = %q\nkind = %q", d.states[i], kind)
		if i == 0 {
			d.add("start = true")
		}
		if kind == "performing" && d.chance(85) || kind == "ambient" && d.chance(30) {
			d.add("plays = %q", d.pick(append(routines, routines[:2]...)...))
		}
	}
	if d.chance(60) {
		d.transition([]string{"any"}, []string{"press s"}, d.states[0])
	}
	for range len(d.states) + d.IntN(8) {
		var from, on []string
		for range 1 + d.IntN(5)/4 {
			from = append(from, d.pick(append(d.states, d.states[0], "any", "any "+d.pick(d.kinds...))...))
			on = append(on, d.trigger())
		}
		to := d.pick(d.states...)
		if d.chance(15) {
			to = "back"
		} else if d.chance(10) {
			to = ""
		} else if d.chance(25) {
			to = d.choice()
		}
		d.transition(from, on, to)
	}
	for range d.IntN(3) {
		if len(d.events) == 0 {
			break
		}
		d.add("[[require]]\nthat = %q", d.requirement())
	}
}

func (d *sketcher) trigger() string {
	switch n := d.IntN(14); {
	case n >= 12 && d.posted != nil:
		return "event " + d.pick(d.posted...)
	case n < 3, n >= 12:
		return "press " + d.pick(d.buttons...)
	case n < 4:
		return fmt.Sprintf("hold %s for %dms", d.pick(d.buttons...), 3+d.IntN(4))
	case n < 5:
		return "release " + d.pick(d.buttons...)
	case n < 6 && len(d.inputs) > 0:
		return d.pick("rise", "fall") + " " + d.pick(d.inputs...)
	case n < 9:
		return "done"
	case n < 11:
		return "after " + millis(d.IntN(9))
	}
	lo := d.IntN(7)
	return fmt.Sprintf("after %s..%dms", millis(lo), lo+1+d.IntN(5))
}

// millis writes milliseconds as the design's format does.
func millis(n int) string {
	if n == 0 {
		return "0s"
	}
	return fmt.Sprintf("%dms", n)
}

// transition adds a transition, but for what would make the design faulty.
func (d *sketcher) transition(from, on []string, to string) {
	from, on = distinct(from), distinct(on)
	performing := true
	var cells []string
	for _, f := range from {
		for i, s := range d.states {
			if f == s || f == "any" || f == "any "+d.kinds[i] {
				performing = performing && d.kinds[i] == "performing"
				for _, o := range on {
					cells = append(cells, s+"/"+map[bool]string{true: "named", false: f}[f == s]+"/"+o)
				}
			}
		}
		performing = performing && f != "any" // the file's reader asks for it by name
	}
	if slices.ContainsFunc(cells, func(c string) bool { return d.taken[c] }) || to == "back" && !performing {
		return
	}
	for _, c := range cells {
		d.taken[c] = true
	}
	d.events = append(d.events, on...)
	d.add("[[transition]]\nfrom = [%s]\non = [%s]", quotes(from), quotes(on))
	if to == "" {
		d.add("ignore = true")
		return
	}
	if !strings.HasPrefix(to, "{") {
		to = strconv.Quote(to)
	}
	d.add("to = %s", to)
	if performing && !slices.Contains(on, "done") && d.chance(30) {
		d.add("defer = true")
	}
}

// choice is a target of at least two states, in turn perhaps one of them twice.
func (d *sketcher) choice() string {
	states := slices.Clone(d.states)
	d.Shuffle(len(states), func(i, j int) { states[i], states[j] = states[j], states[i] })
	states = states[:2+d.IntN(min(len(states)-1, 2))]
	if d.chance(60) {
		return fmt.Sprintf("{ any_of = [%s] }", quotes(states))
	}
	if d.chance(30) {
		states = append(states, states[0])
	}
	return fmt.Sprintf("{ in_turn = [%s] }", quotes(states))
}

func (d *sketcher) requirement() string {
	state := d.pick(d.states...)
	what := d.pick(append(d.kinds, d.states...)...)
	switch d.IntN(8) {
	case 0:
		return "reachable " + state
	case 1, 2:
		presses := make([]string, 1+d.IntN(3))
		for i := range presses {
			presses[i] = d.pick(d.buttons...)
		}
		return fmt.Sprintf("from %s press %s ends in %s", d.pick(d.states...), strings.Join(presses, ", "), state)
	case 3, 4, 5:
		return fmt.Sprintf("%s within %dms after %s", what, 1+d.IntN(12), d.pick(d.events...))
	}
	return fmt.Sprintf("never %s within %dms after %s", what, 1+d.IntN(12), d.pick(d.events...))
}

func distinct(list []string) []string {
	slices.Sort(list)
	return slices.Compact(list)
}

func quotes(list []string) string {
	quoted := make([]string, len(list))
	for i, s := range list {
		quoted[i] = fmt.Sprintf("%q", s)
	}
	return strings.Join(quoted, ", ")
}
