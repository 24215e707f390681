package prove

import (
	"bytes"
	"cmp"
	"debug/elf"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"propwright/gen/bench"
	"propwright/gen/mutate"
)

// spoiltBoard names a board.cpp that stands in for the one that is built, where this test
// binary is run by TestMutantsOfTheBoard.
const spoiltBoard = "SPOILT_BOARD"

// examination are the tests of the demo that a board.cpp has to pass.
var examination = []string{
	"^TestLightsDisturbNothing$",
	"^TestTraceShowsWhatTheDesignAsks$/^harbour-heron",
	"^TestStopIsAsSoonAsTheCheckSays$/^harbour-heron",
}

// arguedOfTheBoard are mutants of the demo's board.cpp that the demo cannot show, by the
// line with what is changed between angle quotes, and what it is then.
var arguedOfTheBoard = []struct{ mutant, why string }{
	{`ir_high = \(bytes\[count «-» 1U\]`, "no frame comes in while a strip is sent, and a wrong level is put right by what is noted next"},
	{`left «>» FRAME.* => >=$`, "nothing is shown in the very tick in which a frame begins: its pulses do"},
	{`«128U».* => 12[79]U$`, "a round is 256 counts: one more or less makes none"},
	{`^«        cli\(\);»`, "timer 0 would have to come round within some 40 cycles of its handler: too seldom to be seen"},
	{`left «<» needed.* => <=$`, "there are ticks to spare"},
	{`^«    sei\(\);»`, "board_rest, at the end of the pass at the latest, lets interrupts in"},
}

// TestMutantsOfTheBoard changes one thing at a time in the demo's board.cpp. Not all that
// the chip bench does not see on this one design is argued, so it is only told, but some
// of them it has to see. MUTANTS is how many are tried, all, or an expression that names
// some, as in gen/harness:
//
//	MUTANTS=all go test -v -timeout 0 -run TestMutantsOfTheBoard ./gen/prove
func TestMutantsOfTheBoard(t *testing.T) {
	if testing.Short() || os.Getenv(spoiltBoard) != "" {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	d := read(t, "harbour-heron.prop.toml")
	d.Prop.Seed = 1 // as newStand has it
	dir := build(t, d)
	text, err := os.ReadFile(filepath.Join(dir, "board.cpp"))
	require.NoError(t, err)
	some, err := mutate.Choose(mutate.Mutants("board.cpp", string(text)), cmp.Or(os.Getenv("MUTANTS"), "3"))
	require.NoError(t, err, "MUTANTS")
	sound, err := codeOf(t, dir, d.Prop.Board)
	require.NoError(t, err)
	fates := map[string]int{}
	var lock sync.Mutex
	var workers sync.WaitGroup
	next := make(chan *mutate.Mutant)
	for range 2 {
		workers.Go(func() {
			for m := range next {
				fate, err := tryBoard(t, dir, m, sound)
				lock.Lock()
				if fates[fate]++; fate == "open" {
					t.Log(err)
				} else if err != nil {
					t.Error(err)
				}
				lock.Unlock()
			}
		})
	}
	for i := range some {
		next <- &some[i]
	}
	close(next)
	workers.Wait()
	t.Logf("board.cpp: %v of %d", fates, len(some))
	if os.Getenv("MUTANTS") == "" {
		require.Positive(t, fates["killed"])
	}
}

// Every argument is for a mutant.
func TestArgumentsOfTheBoard(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(build(t, read(t, "harbour-heron.prop.toml")), "board.cpp"))
	require.NoError(t, err)
	all := mutate.Mutants("board.cpp", string(text))
	for _, a := range arguedOfTheBoard {
		argument := regexp.MustCompile(a.mutant)
		require.True(t, slices.ContainsFunc(all, func(m mutate.Mutant) bool { return argument.MatchString(m.Marked + " => " + m.Is) }), a.mutant)
	}
}

// tryBoard says what becomes of a mutant of the sketch in dir. The error is that nothing
// sees it.
func tryBoard(t *testing.T, dir string, m *mutate.Mutant, sound []byte) (fate string, err error) {
	spoilt := filepath.Join(t.TempDir(), filepath.Base(dir))
	if err := os.CopyFS(spoilt, os.DirFS(dir)); err != nil {
		return "", err
	}
	board := filepath.Join(spoilt, "board.cpp")
	if err := os.WriteFile(board, []byte(m.Text), 0o600); err != nil {
		return "", err
	}
	code, err := codeOf(t, spoilt, "atmega328p")
	if err != nil {
		return "not C", nil
	}
	if bytes.Equal(code, sound) {
		return "the same code", nil
	}
	for _, e := range examination {
		cmd := exec.Command(os.Args[0], "-test.failfast", "-test.timeout", "10m", "-test.run", e)
		cmd.Env = append(os.Environ(), spoiltBoard+"="+board)
		if cmd.Run() != nil {
			return "killed", nil
		}
	}
	for _, a := range arguedOfTheBoard {
		if regexp.MustCompile(a.mutant).MatchString(m.Marked + " => " + m.Is) {
			return "argued", nil
		}
	}
	return "open", fmt.Errorf("%s: the bench does not see %s", m, m.Marked)
}

// codeOf compiles a sketch and gives what is in the chip's flash.
func codeOf(t *testing.T, dir, mcu string) (code []byte, err error) {
	err = bench.Try(func(b bench.TB) {
		f, err := elf.Open(bench.Compile(b, dir, mcu))
		require.NoError(b, err)
		defer f.Close()
		for _, name := range []string{".text", ".data"} {
			part, err := f.Section(name).Data()
			require.NoError(b, err)
			code = append(code, part...)
		}
	})
	return code, err
}
