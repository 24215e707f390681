package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"propwright/model/designs/many"
)

// What it costs to check a file and to print what was found.
func BenchmarkCheckOfMany(b *testing.B) {
	for _, shape := range many.Shapes {
		for _, n := range []int{1000, 10_000} {
			file := filepath.Join(b.TempDir(), "many.prop.toml")
			require.NoError(b, os.WriteFile(file, shape.Design(n).Format(), 0o666))
			for _, form := range []string{"text", "json", "sarif"} {
				b.Run(fmt.Sprintf("%s/%d/%s", shape.Name, n, form), func(b *testing.B) {
					b.ReportAllocs()
					args := []string{"check", file}
					if form != "text" {
						args = append(args, "--"+form)
					}
					var out counter
					for b.Loop() {
						out = 0
						run(args, &out, io.Discard)
					}
					b.ReportMetric(float64(out), "B/out")
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
