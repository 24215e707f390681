package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/designs/many"
)

// Ten times the states, at most fourteen times the text and the memory.
func TestCheckOfMany(t *testing.T) {
	few, lots := 100, 1000
	if testing.Short() {
		few, lots = 20, 200
	}
	for _, shape := range many.Shapes {
		var small, large []uint64
		for _, n := range []int{few, lots} {
			small = large
			large = nil
			file := filepath.Join(t.TempDir(), "many.prop.toml")
			require.NoError(t, os.WriteFile(file, shape.Design(n).Format(), 0o666))
			for _, form := range []string{"text", "json"} {
				out, allocated := checked(file, form)
				large = append(large, out, allocated)
			}
		}
		for i := range small {
			assert.LessOrEqual(t, large[i], 14*small[i], "%s, number %d", shape.Name, i)
		}
	}
}

// checked checks a file and says how many bytes were printed, and allocated.
func checked(file, form string) (printed, allocated uint64) {
	args := []string{"check", file}
	if form != "text" {
		args = append(args, "--"+form)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	var out counter
	run(args, &out, io.Discard)
	runtime.ReadMemStats(&after)
	return uint64(out), after.TotalAlloc - before.TotalAlloc
}

// What it costs to check a file and to print what was found.
func BenchmarkCheckOfMany(b *testing.B) {
	for _, shape := range many.Shapes {
		for _, n := range []int{1000, 10_000} {
			file := filepath.Join(b.TempDir(), "many.prop.toml")
			require.NoError(b, os.WriteFile(file, shape.Design(n).Format(), 0o666))
			for _, form := range []string{"text", "json", "sarif"} {
				b.Run(fmt.Sprintf("%s/%d/%s", shape.Name, n, form), func(b *testing.B) {
					b.ReportAllocs()
					for b.Loop() {
						out, _ := checked(file, form)
						b.ReportMetric(float64(out), "B/out")
					}
				})
			}
		}
	}
}

// A counter counts what is written.
type counter int

func (c *counter) Write(p []byte) (int, error) {
	*c += counter(len(p))
	return len(p), nil
}
