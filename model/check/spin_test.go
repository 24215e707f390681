package check

import (
	"bufio"
	"bytes"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/random"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/graph/topo"
	"pgregory.net/rapid"
)

// SPIN is G. J. Holzmann's model checker: "The model checker SPIN", IEEE
// Transactions on Software Engineering 23(5), 1997; Debian package spin.

const spinPeriod = 2 // from frame to frame, milliseconds

var spinDesigns = flag.Int("spin", 100, "how many designs TestAgainstSpin draws")

// TestAgainstSpin compares the rules' verdicts with SPIN's, one by one.
func TestAgainstSpin(t *testing.T) {
	needs(t, "spin", "tcc")
	designs := *spinDesigns
	if testing.Short() {
		designs = 12
	}
	const batch = 25 // designs that are compiled together
	var ps []*machine.Program
	for i := range designs {
		p := machine.Compile(rapid.Custom(spinnable).Example(i))
		ps = append(ps, p)
	}
	var (
		batches = slices.Collect(slices.Chunk(ps, batch))
		said    = make([][]spun, len(batches))
		failed  = make([]error, len(batches))
		next    = make(chan int)
		group   sync.WaitGroup
	)
	for range 2 {
		group.Go(func() {
			for k := range next {
				said[k], failed[k] = runSpin(t.TempDir(), batches[k])
			}
		})
	}
	for k := range batches {
		next <- k
	}
	close(next)
	group.Wait()
	var all verdicts
	var deaf, roams int
	for k, ps := range batches {
		require.NoError(t, failed[k])
		for i, p := range ps {
			v, why := ours(t, p.Design)
			assert.Equal(t, said[k][i].verdicts, v, "%s", p.Design.Format())
			assert.Subset(t, said[k][i].deaf, why.deaf)
			assert.Subset(t, said[k][i].roams, why.roams)
			all.Unreachable = append(all.Unreachable, v.Unreachable...)
			all.Dead = append(all.Dead, v.Dead...)
			all.Loops = append(all.Loops, v.Loops...)
			all.Traps = append(all.Traps, v.Traps...)
			deaf, roams = deaf+len(why.deaf), roams+len(why.roams)
		}
	}
	// None of the verdicts is the same for all designs.
	for _, c := range []struct {
		what string
		n    int
	}{
		{"states that cannot be reached", len(all.Unreachable)},
		{"dead ends", len(all.Dead)},
		{"traps", len(all.Traps)},
		{"states deaf to stop", deaf},
		{"states that stop fails in", roams},
		{"states in instant loops", len(all.Loops)},
	} {
		t.Logf("%d designs: %d %s", designs, c.n, c.what)
		if !testing.Short() { // few designs may have no trap
			assert.NotZero(t, c.n, c.what)
		}
	}
}

// verdicts are what is said of one design, by names of states.
type verdicts struct {
	Unreachable, Dead, NoStop, Loops []string
	Traps                            [][]string
}

// reasons are why stop fails in states: they are deaf to it, or it need not
// lead to rest. The rule gives one for each state, SPIN all.
type reasons struct{ deaf, roams []string }

func (v *verdicts) sort() {
	for _, s := range []*[]string{&v.Unreachable, &v.Dead, &v.NoStop, &v.Loops} {
		slices.Sort(*s)
		*s = slices.Compact(*s)
	}
	slices.SortFunc(v.Traps, slices.Compare)
}

// spun is what SPIN says of one design.
type spun struct {
	verdicts
	reasons
}

// ours are the verdicts of the rules.
func ours(t require.TestingT, d *model.Design) (v verdicts, why reasons) {
	found, err := newStudy(d, spinPeriod).Check(Rules())
	require.NoError(t, err)
	named := regexp.MustCompile(`"([^"]*)"`)
	for _, f := range found {
		var names []string
		for _, m := range named.FindAllStringSubmatch(f.Message, -1) {
			names = append(names, m[1])
		}
		slices.Sort(names)
		switch f.Rule {
		case "unreachable-state":
			v.Unreachable = append(v.Unreachable, f.State)
		case "dead-end":
			v.Dead = append(v.Dead, f.State)
		case "no-stop":
			states := f.States
			if states == nil {
				states = []string{f.State}
			}
			v.NoStop = append(v.NoStop, states...)
			if strings.Contains(f.Message, "does nothing in state") {
				why.deaf = append(why.deaf, states...)
			} else {
				why.roams = append(why.roams, states...)
			}
		case "instant-loop":
			v.Loops = append(v.Loops, names...)
		case "trap":
			v.Traps = append(v.Traps, names)
		}
	}
	v.sort()
	return v, why
}

// runSpin has SPIN look through some designs and gives its verdicts.
func runSpin(dir string, ps []*machine.Program) ([]spun, error) {
	w := &promela{period: spinPeriod}
	w.prelude()
	for d, p := range ps {
		stop, _ := p.Button(p.Design.Remote.Stop)
		w.design(d, p, stop)
	}
	w.line("init { atomic { if")
	for d := range ps {
		w.line(":: run d%d()", d)
	}
	w.line("fi } }")
	if err := os.WriteFile(filepath.Join(dir, "designs.pml"), []byte(w.String()), 0o666); err != nil {
		return nil, err
	}
	var out []byte
	for _, command := range []string{
		"spin -a designs.pml",
		// tcc compiles a hundred times as fast as gcc, and the search is short.
		"tcc -w -DSAFETY -DNOREDUCE -DMEMLIM=2000 -o pan pan.c",
		"./pan -E -n -m1000000 -w20",
	} {
		words := strings.Fields(command)
		cmd := exec.Command(words[0], words[1:]...)
		cmd.Dir = dir
		var err error
		if out, err = cmd.CombinedOutput(); err != nil {
			return nil, fmt.Errorf("%s: %w: %s", command, err, out[max(0, len(out)-1500):])
		}
	}
	if !bytes.Contains(out, []byte("errors: 0")) || bytes.Contains(out, []byte("max search depth too small")) {
		return nil, fmt.Errorf("SPIN has not seen everything: %s", out[max(0, len(out)-1500):])
	}
	lives := make([]lifeSeen, len(ps))
	for d := range lives {
		lives[d] = lifeSeen{map[[2]int]bool{}, simple.NewDirectedGraph(), map[int64]int{}}
	}
	in := bufio.NewScanner(bytes.NewReader(out))
	for in.Scan() {
		n := numbers(in.Bytes())
		switch {
		case bytes.HasPrefix(in.Bytes(), []byte("hit ")):
			lives[n[0]].hits[[2]int{n[1], n[2]}] = true
		case bytes.HasPrefix(in.Bytes(), []byte("edge ")):
			lives[n[0]].edge(n)
		}
	}
	var all []spun
	for d, p := range ps {
		v, why := lives[d].verdicts(p)
		all = append(all, spun{v, why})
	}
	return all, in.Err()
}

// lifeSeen is what SPIN said of one design.
type lifeSeen struct {
	hits  map[[2]int]bool       // what and state
	steps *simple.DirectedGraph // from spot to spot
	by    map[int64]int         // of a spot, a bit for each state that a step from it comes by
}

func (l *lifeSeen) edge(n []int) {
	a, b := int64(n[1]), int64(n[2])
	l.by[a] |= n[3]
	if a != b {
		l.steps.SetEdge(simple.Edge{F: simple.Node(a), T: simple.Node(b)})
	} else if l.steps.Node(a) == nil {
		l.steps.AddNode(simple.Node(a))
	}
}

func (l *lifeSeen) verdicts(p *machine.Program) (v verdicts, why reasons) {
	dead := map[int]bool{}
	for s := range p.Design.States {
		name, id := p.Design.States[s].Name, machine.StateID(s)
		hit := func(what int) bool { return l.hits[[2]int{what, s}] }
		if !hit(hitReached) {
			v.Unreachable = append(v.Unreachable, name)
		} else if !hit(hitLeft) {
			dead[s] = true
			v.Dead = append(v.Dead, name)
		}
		// Where that press always lets another button go first, and this leads
		// out of the state, the press itself never comes to the state.
		deaf := hit(hitGot) && !hit(hitHeeds) && !answers(p, id, model.Release, true) ||
			hit(hitLate) && !answers(p, id, model.Press, false) && !answers(p, id, model.Release, false)
		if deaf && p.Kind(id) != model.Dormant {
			why.deaf = append(why.deaf, name)
			v.NoStop = append(v.NoStop, name)
		}
		if hit(hitRoams) {
			why.roams = append(why.roams, name)
			v.NoStop = append(v.NoStop, name)
		}
		if hit(hitLoops) {
			v.Loops = append(v.Loops, name)
		}
	}
	// A trap is a strongly connected component that nothing leads out of.
	seen := map[string]bool{}
	for _, scc := range topo.TarjanSCC(l.steps) {
		in, by, trap := map[int64]bool{}, 0, true
		for _, n := range scc {
			in[n.ID()] = true
			by |= l.by[n.ID()]
		}
		for _, n := range scc {
			for to := l.steps.From(n.ID()); to.Next(); {
				trap = trap && in[to.Node().ID()]
			}
		}
		var names []string
		single := false
		for s := range p.Design.States {
			if by>>s&1 == 1 {
				names = append(names, p.Design.States[s].Name)
				trap = trap && p.Kind(machine.StateID(s)) != model.Dormant
				single = by == 1<<s && dead[s]
			}
		}
		slices.Sort(names)
		if key := fmt.Sprint(names); trap && !single && !seen[key] {
			seen[key] = true
			v.Traps = append(v.Traps, names)
		}
	}
	v.sort()
	return v, why
}

// answers reports whether the table has anything for pressing the stop button,
// or letting it go, in a state, live before its routine's end.
func answers(p *machine.Program, s machine.StateID, kind model.TriggerKind, live bool) bool {
	e, ok := p.Event(model.Trigger{Kind: kind, Name: p.Design.Remote.Stop})
	if !ok {
		return false
	}
	m := p.Move(s, e)
	return m != nil && !m.Ignore && !m.Do && (!m.Defer || live && p.Length[s] >= 0)
}

// numbers reads the numbers of a line.
func numbers(line []byte) (out []int) {
	n, in := 0, false
	for _, c := range append(line[:len(line):len(line)], '\n') {
		switch {
		case c >= '0' && c <= '9':
			n, in = n*10+int(c-'0'), true
		case in:
			out, n, in = append(out, n), 0, false
		}
	}
	return out
}

// spinnable draws a design whose times are so short that SPIN can count them.
func spinnable(t *rapid.T) *model.Design {
	d := random.Size{
		States:      random.Range{Lo: 2, Hi: 4},
		Buttons:     random.Range{Lo: 1, Hi: 2},
		Inputs:      random.Range{Lo: 0, Hi: 1},
		Events:      random.Range{Lo: 0, Hi: 1},
		Outputs:     random.Range{Lo: 0, Hi: 1},
		Routines:    random.Range{Lo: 0, Hi: 2},
		Transitions: random.Range{Lo: 1, Hi: 9},
	}.Design(t)
	between := func(lo, hi int, what string) int64 { return int64(rapid.IntRange(lo, hi).Draw(t, what)) }
	for i := range d.Remote.Buttons {
		d.Remote.Buttons[i].Code = "" // which would tell a period
	}
	still(d)
	for i := range d.Routines {
		d.Routines[i].Length = ms(between(0, 3, "length"))
	}
	for i := range d.Transitions {
		for j := range d.Transitions[i].On {
			on := &d.Transitions[i].On[j]
			switch on.Kind {
			case model.After:
				on.After.Lo = ms(between(0, 3, "lo"))
				on.After.Hi = on.After.Lo + ms(between(0, 1, "more"))
			case model.Hold:
				on.For = ms(between(1, 5, "for"))
			}
		}
	}
	return d
}

// still takes all out of a design that moves: what comes to rest by itself then does
// so at once. TestRestSettles is about the rest.
func still(d *model.Design) {
	for i := range d.States {
		d.States[i].Pose, d.States[i].Drift = nil, nil
	}
	for i := range d.Outputs {
		d.Outputs[i] = model.Output{Name: d.Outputs[i].Name, Kind: model.KindSwitch, Pin: 9, Active: model.High}
	}
	for i := range d.Transitions {
		for j := range d.Transitions[i].Do {
			d.Transitions[i].Do[j].Action = model.Action{Toggle: true}
		}
	}
	for i := range d.Routines {
		r := &d.Routines[i]
		r.Length = d.RoutineLength(r)
		r.Cues = nil
	}
}

// needs skips a test without some programs, but not where everything must be
// there.
func needs(t testing.TB, programs ...string) {
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatal(err)
			}
			t.Skip(err)
		}
	}
}
