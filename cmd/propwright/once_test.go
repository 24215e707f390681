package main

import (
	"io"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is worked out of a design is worked out once: of each of these functions, the
// first allocation is made as often as there are designs.
func TestWorkedOutOnce(t *testing.T) {
	if testing.Short() {
		t.Skip("counting every allocation is slow; the whole run does it")
	}
	const heron, buoy = "../../model/designs/harbour-heron.prop.toml", "../../model/designs/bell-buoy.prop.toml"
	t.Setenv("PATH", "") // no compiler measures what was built
	for _, c := range []struct {
		args    []string
		designs int64
	}{
		{[]string{"check", heron}, 1},
		{[]string{"check", "--json", heron}, 1},
		{[]string{"build", heron, "-o", t.TempDir()}, 1},
		{[]string{"card", heron, "-o", filepath.Join(t.TempDir(), "card.html")}, 1},
		{[]string{"diff", heron, buoy}, 2},
	} {
		before := allocations()
		rate := runtime.MemProfileRate
		runtime.MemProfileRate = 1 // every allocation
		code := run(c.args, io.Discard, io.Discard)
		runtime.MemProfileRate = rate
		require.NotEqual(t, exitCall, code)
		after := allocations()
		for _, name := range []string{"model/machine.Compile", "model/timed.Explore", "gen/sketch.newFirmware"} {
			want := c.designs
			if c.args[0] == "card" && name == "gen/sketch.newFirmware" {
				want = 0
			}
			first := after.first("propwright/" + name)
			assert.Equal(t, want, after[first]-before[first], "calls of %s by %s", name, c.args[0])
		}
	}
}

// A site is where memory is allocated.
type site struct {
	function string
	pc       uintptr
}

// sites counts the objects allocated at each site so far, as far as the profile has
// them.
type sites map[site]int64

func allocations() sites {
	runtime.GC() // a profile has what was allocated before the last but one
	runtime.GC()
	records := make([]runtime.MemProfileRecord, 1<<16)
	n, ok := runtime.MemProfile(records, true)
	for ; !ok; n, ok = runtime.MemProfile(records, true) {
		records = make([]runtime.MemProfileRecord, 2*n)
	}
	all := sites{}
	for _, r := range records[:n] {
		frames := runtime.CallersFrames(r.Stack())
		for more := true; more; {
			var f runtime.Frame
			if f, more = frames.Next(); !strings.HasPrefix(f.Function, "runtime.") {
				all[site{f.Function, f.PC}] += r.AllocObjects
				break
			}
		}
	}
	return all
}

// first is a function's first site.
func (s sites) first(function string) (at site) {
	for x := range s {
		if x.function == function && (at.pc == 0 || x.pc < at.pc) {
			at = x
		}
	}
	return at
}

// BenchmarkCommands is what a call takes without the start of the process. Only
// "build and compile" runs a compiler, if there is one.
func BenchmarkCommands(b *testing.B) {
	const (
		heron  = "../../model/designs/harbour-heron.prop.toml"
		parade = "../../model/designs/odd/pier-parade.prop.toml"
	)
	for _, c := range []struct {
		name     string
		compiler bool
		args     []string
	}{
		{"check", false, []string{"check", heron}},
		{"check the largest", false, []string{"check", parade}},
		{"build", false, []string{"build", heron, "-o", b.TempDir()}},
		{"build and compile", true, []string{"build", heron, "-o", b.TempDir()}},
		{"diff", false, []string{"diff", parade, heron}},
	} {
		b.Run(c.name, func(b *testing.B) {
			if !c.compiler {
				b.Setenv("PATH", "")
			}
			for b.Loop() {
				require.NotEqual(b, exitCall, run(c.args, io.Discard, io.Discard))
			}
		})
	}
}
