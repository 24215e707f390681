package check

import (
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/designs/many"
	"propwright/model/machine"

	"github.com/stretchr/testify/require"
)

// large is a design of n states with a transition for every state and button.
// With back all but every hundredth state perform and lead back, so that
// there are n/100 times as many configurations; without it half of them perform.
func large(n, buttons int, back bool) *model.Design {
	d := &model.Design{
		Prop:     model.Prop{RestWithin: 3 * time.Second},
		Remote:   model.Remote{Stop: "b0"},
		Routines: []model.Routine{{Name: "turn", Length: time.Second}},
	}
	for b := range buttons {
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{Name: fmt.Sprint("b", b)})
	}
	name := func(s int) string { return fmt.Sprint("s", s%n) }
	to := func(s int, on model.Trigger, to string) {
		d.Transitions = append(d.Transitions, model.Transition{From: []model.From{{State: name(s)}}, On: []model.Trigger{on}, To: to})
	}
	for s := range n {
		st := model.State{Name: name(s), Kind: model.Ambient}
		switch {
		case s == 0:
			st.Kind = model.Dormant
		case back && s%100 != 0:
			st.Kind, st.Plays = model.Performing, "turn"
			to(s, model.Trigger{Kind: model.Done}, model.Back)
		case !back && s%2 == 1:
			st.Kind, st.Plays = model.Performing, "turn"
			to(s, model.Trigger{Kind: model.Done}, name(s+1))
		}
		d.States = append(d.States, st)
		to(s, model.Trigger{Kind: model.Press, Name: "b0"}, "s0")
		for b := 1; b < buttons; b++ {
			to(s, model.Trigger{Kind: model.Press, Name: fmt.Sprint("b", b)}, name(s*7+b*b))
		}
	}
	d.Transitions = append(d.Transitions, model.Transition{
		From: []model.From{{State: model.Any, Kind: model.Ambient}},
		On:   []model.Trigger{{Kind: model.After, After: model.Span{Lo: time.Minute, Hi: 2 * time.Minute}}},
		To:   "s0",
	})
	return d
}

// What checking a design costs by all rules: time, and memory allocated, over
// configurations and ways between them should stay the same from size to size.
func BenchmarkCheck(b *testing.B) {
	for _, back := range []bool{false, true} {
		for _, n := range []int{10, 100, 1000, 10_000} {
			if back && n == 10_000 {
				n = 3000 // of 10,000 there are too many configurations
			}
			b.Run(fmt.Sprintf("back=%t/states=%d/buttons=20", back, n), func(b *testing.B) {
				d := large(n, 20, back)
				x, err := explored.Of(NewStudy(d))
				require.NoError(b, err)
				all := x.Size().Configurations
				work := all + len(d.Transitions)
				for i := range all {
					for range x.Next(i) {
						work++
					}
				}
				x = nil
				b.ReportAllocs()
				for b.Loop() {
					if _, err := NewStudy(d).Check(Rules()); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(work), "work")
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(work), "ns/work")
			})
		}
	}
}

// BenchmarkMany checks the shapes that cost the most.
func BenchmarkMany(b *testing.B) {
	designs := map[string]*model.Design{"deep/60×60×60": many.Defers(1, 60, 60)}
	for _, shape := range many.Shapes {
		for _, n := range []int{1000, 10_000} {
			designs[fmt.Sprintf("%s/%d", shape.Name, n)] = shape.Design(n)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(designs)) {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				s := NewStudy(designs[name])
				if _, err := s.Check(Rules()); err != nil {
					b.Fatal(err)
				}
				x, _ := explored.Of(s)
				b.ReportMetric(float64(x.Size().Configurations), "situations")
				b.ReportMetric(float64(x.Size().Bytes), "B/kept")
			}
		})
	}
}

// BenchmarkBesideSpin checks 1,000 states with 20 buttons, by all rules and
// with all times, and has SPIN look through the same states in the least that
// it can be given: who leads where, no clock, no back, nothing but which
// states are reached. The metric is how many times as long SPIN takes to
// generate, compile and run its checker.
func BenchmarkBesideSpin(b *testing.B) {
	needs(b, "spin", "cc")
	d := large(1000, 20, false)
	p := machine.Compile(d)
	var w strings.Builder
	fmt.Fprintf(&w, "active proctype prop() {\ngoto s%d;\n", p.Start)
	for s := range d.States {
		id := machine.StateID(s)
		fmt.Fprintf(&w, "s%d: if\n", s)
		for e := range p.Events {
			if m := p.Move(id, machine.EventID(e)); m != nil && !m.Ignore {
				fmt.Fprintf(&w, ":: goto s%d\n", m.Target)
			}
		}
		if m := p.Done(id); m != nil && !m.Ignore {
			fmt.Fprintf(&w, ":: goto s%d\n", m.Target)
		}
		for _, t := range p.Timers(id) {
			fmt.Fprintf(&w, ":: goto s%d\n", t.Target)
		}
		fmt.Fprintln(&w, "fi;")
	}
	fmt.Fprintln(&w, "}")
	dir := b.TempDir()
	require.NoError(b, os.WriteFile(filepath.Join(dir, "prop.pml"), []byte(w.String()), 0o666))

	var spin, us time.Duration
	for b.Loop() {
		for _, command := range []string{"spin -a prop.pml", "cc -w -O0 -DSAFETY -o pan pan.c", "./pan -n"} {
			words := strings.Fields(command)
			cmd := exec.Command(words[0], words[1:]...)
			cmd.Dir = dir
			began := time.Now()
			out, err := cmd.CombinedOutput()
			spin += time.Since(began)
			require.NoError(b, err, "%s: %s", command, out)
			if words[0] == "./pan" {
				require.Contains(b, string(out), "errors: 0")
			}
		}
		began := time.Now()
		_, err := NewStudy(d).Check(Rules())
		us += time.Since(began)
		require.NoError(b, err)
	}
	b.ReportMetric(spin.Seconds()/float64(b.N), "s/spin")
	b.ReportMetric(us.Seconds()/float64(b.N), "s/check")
	b.ReportMetric(spin.Seconds()/us.Seconds(), "times-faster")
}
