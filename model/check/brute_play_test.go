package check_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"

	"github.com/stretchr/testify/require"
)

// TestRehearsalAgainstBruteForce plays random scripts in model/machine and in
// testdata/oracle/oracle.py: the same states are entered in the same milliseconds.
func TestRehearsalAgainstBruteForce(t *testing.T) {
	needsPython(t)
	designs := 150
	if testing.Short() {
		designs = 30
	}
	dir := t.TempDir()
	var scripts bytes.Buffer
	enc := json.NewEncoder(&scripts)
	var want [][][]string // by script and millisecond
	for i := range designs {
		text := smallDesign(uint64(i))
		d, err := model.Read("drawn.prop.toml", []byte(text))
		require.NoError(t, err)
		file := filepath.Join(dir, fmt.Sprintf("%04d.prop.toml", i))
		require.NoError(t, os.WriteFile(file, []byte(text), 0o666))
		for k := range 3 {
			acts, entered := rehearseAtRandom(t, d, rand.New(rand.NewPCG(uint64(i), uint64(k))))
			want = append(want, entered)
			require.NoError(t, enc.Encode(map[string]any{"file": file, "acts": acts}))
		}
	}
	cmd := exec.Command("python3", "testdata/oracle/oracle.py", "--play")
	var stderr bytes.Buffer
	cmd.Stdin, cmd.Stderr = &scripts, &stderr
	out, err := cmd.Output()
	require.NoError(t, err, "%s", &stderr)
	dec := json.NewDecoder(bytes.NewReader(out))
	changes := 0
	for i := range want {
		var got [][]string
		require.NoError(t, dec.Decode(&got))
		require.Equal(t, got, want[i], "design %d, script %d", i/3, i%3)
		for _, entered := range got {
			changes += len(entered)
		}
	}
	require.Greater(t, changes, designs)
}

// rehearseAtRandom plays 60 ms of random acts, and gives the one of each
// millisecond, nil where there is none, and the states that were entered.
func rehearseAtRandom(t *testing.T, d *model.Design, r *rand.Rand) (acts [][]string, entered [][]string) {
	m := machine.NewDrawing(machine.Compile(d), func(lo, _ uint32) uint32 { return lo })
	var now []string
	m.Observe = func(c machine.Change) {
		if c.Outcome == machine.Entered {
			now = append(now, m.Program().Name(c.To))
		}
	}
	rehearsal := machine.Rehearse(m, check.RepeatPeriod(d))
	button := func() string { return d.Remote.Buttons[r.IntN(len(d.Remote.Buttons))].Name }
	held := ""
	for range 60 {
		wait := machine.Act{Kind: machine.ActWait, For: time.Millisecond}
		var act []string
		play := []machine.Act{wait}
		switch n := r.IntN(12); {
		case n < 2:
			act, held = []string{"press", button()}, ""
			play = []machine.Act{{Kind: machine.ActPress, Name: act[1]}}
		case n < 4:
			held = button()
			act = []string{"hold", held}
			play = []machine.Act{{Kind: machine.ActHold, Name: held}}
		case n < 5 && held != "":
			act = []string{"let go", held}
			play = []machine.Act{{Kind: machine.ActLetGo, Name: held}, wait}
			held = ""
		case n < 7 && len(d.Inputs) > 0:
			act = []string{"rise", d.Inputs[r.IntN(len(d.Inputs))].Name}
			play = []machine.Act{{Kind: machine.ActRise, Name: act[1]}}
		case n < 8 && len(d.Events) > 0:
			act = []string{"event", d.Events[0].Name}
			play = []machine.Act{{Kind: machine.ActEvent, Name: act[1]}}
		}
		now = []string{}
		require.NoError(t, rehearsal.Play(play...))
		acts, entered = append(acts, act), append(entered, now)
	}
	return acts, entered
}
