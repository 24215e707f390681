package main

import (
	"context"
	"flag"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/ir"
)

var kills = flag.Int("kills", 10, "how often each writing command is killed")

// Every command that writes is killed again and again, at any moment of its
// life, more often towards its end, when it writes. The design file is always one that the command could have left, and a
// sketch that does not say #error is whole.
func TestWritingCommandsAreKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("starts hundreds of commands; the whole run does it")
	}
	times := filepath.Join(t.TempDir(), "times")
	writeTimes(t, times, []ir.Code{{Protocol: "nec", Address: 4, Command: 0x50}, {Protocol: "nec", Address: 4, Command: 0x51}})
	loose := strings.Replace(string(designs.HarbourHeron), "format = 1", "format   =   1", 1)
	for _, c := range []struct {
		name string
		args []string
	}{
		{"fmt", []string{"fmt", "heron.prop.toml"}},
		{"add", []string{"add", "routine", "heron.prop.toml", "bow", "--on", "press six", "--code", "nec:0x04:0x77"}},
		{"learn", []string{"learn", "heron.prop.toml", "wake", "bow", "--from", times}},
		{"build", []string{"build", "heron.prop.toml"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			file := filepath.Join(dir, "heron.prop.toml")
			command := func(ctx context.Context) error {
				cmd := exec.CommandContext(ctx, os.Args[0])
				cmd.Args, cmd.Dir = append([]string{"propwright"}, c.args...), dir
				return cmd.Run()
			}
			reset := func(loop int) {
				text := strings.Replace(loose, "Harbour Heron", "Harbour Heron "+strings.Repeat("I", loop%2+1), 1)
				require.NoError(t, os.WriteFile(file, []byte(text), 0o666))
			}
			life := time.Hour
			for range 3 {
				reset(0)
				began := time.Now()
				require.NoError(t, command(context.Background()))
				life = min(life, time.Since(began))
			}
			cut, torn := 0, 0
			runs := 0
			for ; cut < *kills && runs < 20**kills; runs++ {
				reset(runs)
				before, err := os.ReadFile(file)
				require.NoError(t, err)
				ctx, cancel := context.WithTimeout(context.Background(), time.Duration(1.1*math.Sqrt(rand.Float64())*float64(life)))
				if command(ctx) != nil {
					cut++
				}
				cancel()
				after, err := os.ReadFile(file)
				require.NoError(t, err)
				if string(after) != string(before) {
					d, err := model.Read(file, after)
					require.NoError(t, err, "torn after %d kills", cut)
					require.Equal(t, string(d.Format()), string(after), "torn after %d kills", cut)
				}
				if c.name == "build" {
					sketch := filepath.Join(dir, "out", "harbour_heron")
					if tables, err := os.ReadFile(filepath.Join(sketch, "tables.h")); err == nil && strings.Contains(string(tables), "#error") {
						torn++
					}
					entries, err := os.ReadDir(sketch)
					require.NoError(t, err, "the sketch of the first build is there")
					require.GreaterOrEqual(t, len(entries), 17)
				}
			}
			reset(runs)
			require.NoError(t, command(context.Background()), "it works as before")
			left, err := filepath.Glob(filepath.Join(dir, "out", "harbour_heron", ".*"))
			require.NoError(t, err)
			assert.Empty(t, left)
			assert.Equal(t, *kills, cut)
			t.Logf("%s: killed %d times in %d runs, 0 files torn, %d sketches shut", c.name, cut, runs, torn)
		})
	}
}
