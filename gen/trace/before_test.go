package trace

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/rehearsal"
	"propwright/model/scxml"
)

// Designs written before transitions gave orders or chose among states, before sound
// boards by their chip, expanders, events and what follows a voice, do what they did. What
// testdata/before expects of them was written by the program of commit 7bae214, with
// `export`, `rehearse` and `rehearse --trace`; of the trace every 25th row is kept and
// those at which something is switched, sent or heard. A servo may be off by 0.1 degrees,
// about two units of its pulse: how a width is rounded has changed since. Lights are left out: they are now told as the firmware mixes them, frame by frame.
func TestDesignsFromBefore(t *testing.T) {
	for name, script := range map[string]string{"bell-buoy": "night", "harbour-heron": "evening"} {
		t.Run(name, func(t *testing.T) {
			file := func(ending string) []byte {
				text, err := os.ReadFile("testdata/before/" + name + ending)
				require.NoError(t, err)
				return text
			}
			d, err := model.Read(name, file(".prop.toml"))
			require.NoError(t, err)
			p := machine.Compile(d)
			assert.Equal(t, string(file(".scxml")), string(scxml.Export(p)))

			s, err := rehearsal.Load("testdata/before/" + name + "." + script + ".rehearsal.txt")
			require.NoError(t, err)
			player, misses, err := rehearsal.Run(p, s)
			require.NoError(t, err)
			assert.Empty(t, misses)
			var log []string
			for _, e := range player.Log() {
				if e.Outcome != machine.Entered {
					continue
				}
				log = append(log, strings.Join(strings.Fields(fmt.Sprintf("%.3f s %s %s", e.At.Seconds(), e.State, e.Cause)), " "))
			}
			var want []string
			for line := range strings.Lines(string(file(".log"))) {
				want = append(want, strings.Join(strings.Fields(line), " "))
			}
			assert.Equal(t, want, log)

			tr, err := Of(player)
			require.NoError(t, err)
			rows, cell := table(t, tr)
			then, err := csv.NewReader(bytes.NewReader(file(".csv"))).ReadAll()
			require.NoError(t, err)
			row := 0
			for _, r := range then[1:] {
				for row < rows && cell("time [s]", row) != r[0] {
					row++
				}
				require.Less(t, row, rows, "no row at %s s", r[0])
				for i, head := range then[0] {
					where := fmt.Sprintf("%s at %s s", head, r[0])
					if strings.HasSuffix(head, "[deg]") || strings.HasSuffix(head, "[rev/s]") {
						assert.InDelta(t, num(t, r[i]), num(t, cell(head, row)), 0.1, where)
					} else {
						assert.Equal(t, r[i], cell(head, row), where)
					}
				}
			}
		})
	}
}
