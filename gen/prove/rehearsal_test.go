package prove

import (
	"encoding/json"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/require"

	"propwright/gen/bench"
	"propwright/model/machine"
	"propwright/model/rehearsal"
)

// What `propwright rehearse --json` says of a script is what the firmware
// does on the chip when the same is done to it: the same states, one after
// the other. Times are not compared here: on the air a press takes as long as
// its frame.
func TestFirmwareFollowsRehearsal(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	const file = "harbour-heron.prop.toml"
	scripts, err := rehearsal.Beside("../../model/designs/" + file)
	require.NoError(t, err)
	require.NotEmpty(t, scripts)
	for _, script := range scripts {
		t.Run(script.Title(file), func(t *testing.T) {
			t.Parallel()
			command := exec.Command("go", "run", "../../cmd/propwright", "rehearse", "../../model/designs/"+file, "--script", script.File, "--json")
			out, err := command.Output()
			require.NoError(t, err)
			var stops []rehearsal.Stop
			require.NoError(t, json.Unmarshal(out, &stops))
			want := []string{stops[0].State}
			for _, s := range stops[1:] {
				if s.State != want[len(want)-1] { // a state entered anew does not show in pw_state
					want = append(want, s.State)
				}
			}

			s := newStand(t, read(t, file), bench.Options{Watch: []string{"pw_state"}, Step: 80})
			s.to(20)
			for _, l := range script.Lines {
				s.act(l)
			}
			got := []string{s.program.Name(s.program.Start)}
			for _, c := range s.chip.Watched("pw_state") {
				if name := s.design.States[c.Value].Name; name != got[len(got)-1] {
					got = append(got, name)
				}
			}
			require.Equal(t, want, got)
			t.Logf("%d lines of script, %d states, %d s", len(script.Lines), len(got), s.now()/1000)
		})
	}
}

// act does a line of a script to the chip, or looks at its state.
func (s *stand) act(l rehearsal.Line) {
	if l.Expect != "" {
		s.settle()
		require.Equal(s.t, l.Expect, s.design.States[s.chip.Value("pw_state")].Name, "%s", l.Pos)
		return
	}
	switch a := l.Act; a.Kind {
	case machine.ActPress, machine.ActHold:
		b, ok := s.program.Button(a.Name)
		require.True(s.t, ok, "%s", l.Pos)
		s.press(b, machine.Millis(a.For))
	case machine.ActWait:
		s.to(s.now() + machine.Millis(a.For))
	default:
		s.t.Fatalf("%s: the bench cannot do %s", l.Pos, a)
	}
}
