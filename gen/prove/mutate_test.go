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
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/bench"
	"propwright/gen/mutate"
	"propwright/model"
	"propwright/model/check"
)

// spoiltBoard names a board.cpp that stands in for the one that is built, where this test
// binary is run by TestMutantsOfTheBoard.
const spoiltBoard = "SPOILT_BOARD"

// spoil puts a board.cpp of the demo in the place of the one in dir. Where the design has
// a seed, that stays.
func spoil(t testing.TB, dir, board string, d *model.Design) {
	text, err := os.ReadFile(board)
	require.NoError(t, err)
	file := filepath.Join(dir, "board.cpp")
	if d.Prop.Seed != 0 {
		whole, err := os.ReadFile(file)
		require.NoError(t, err)
		text = seeding.ReplaceAllLiteral(text, seeding.Find(whole))
	}
	require.NoError(t, os.WriteFile(file, text, 0o600))
}

var seeding = regexp.MustCompile(`(?s)uint32_t board_seed\(void\)\n.*?\n\}\n`)

// examination are the tests of the demo that a board.cpp has to pass, one after the other.
const examination = "^(TestBoardFromPowerUp|TestLightsDisturbNothing|TestLightsKeepTheClock|TestLimitsHoldWhateverHappens)$/^harbour-heron"

// arguedOfTheBoard are mutants of the demo's board.cpp that the demo cannot show, by the
// line with what is changed between angle quotes, and what it is then.
var arguedOfTheBoard = []struct{ mutant, why string }{
	{`, «false»\}, /\* (neck|beak|eyelid|wing|wheel|water):`, "only of triggers it is asked which level is active"},
	{`plans\[«2».* => 3$`, "room for a plan that nothing makes"},
	{`ir_high = «true»`, "board_begin sets it"},
	{`tick\) «<» 0.* => <=$|tick\) < «0».* => 1$`, "all pulses begin and end half a microsecond later"},
	{`\(end - TCNT1\) «>» .* => >=$`, "there are ticks to spare"},
	{`n = «0»; n < EDGES|n «<» EDGES.* => <=`, "the next pass hands over what is left: the chip does not sleep before"},
	{`^«    cli\(\);»`, "board_begin lets nothing in before it is set up; the others the bench sees"},
	{`^«        sleep_disable\(\);»`, "nothing else sleeps"},
	{`^«    set_sleep_mode\(SLEEP_MODE_IDLE\);»`, "SMCR is 0 after a reset, which is idle mode (ATmega328P data sheet, DS40002061B, section SMCR)"},
	{`MCUSR = «0».* => 1$`, "it is the flag of the watchdog's reset, bit 3, that keeps the watchdog on (the same, section WDTCSR)"},
	{`TCNT1 = «0»|^«    TCNT1 = 0;»`, "the core has it count to 255 and back: the first frame begins up to 128 us sooner"},
	{`^«    TIMSK1 = _BV\(OCIE1A\);»`, "the start state's pose sends servos somewhere, and board_hold sets it"},
	{`^« +PCIFR = _BV\(PCIF2\);`, "an interrupt at once, of no edge that is not noted"},
	{`ir_high = .*\(IR_PIN`, "each strip sets it, from the first frame on; and what is low at power-up has no beginning, so that nothing comes of its end"},
	{`n = «0»; n < 2000.* => 1$|n «<» 2000.* => <=$|n < «2000».* => (2001|1999)$`, "a conversion is over long before (the same, section Prescaling and Conversion Timing)"},
	{`ir_high = \(bytes\[count - «1U».* => 2U`, "no frame comes in while a strip is sent, and a wrong level is put right by what is noted next"},
	{`left «>» FRAME.* => >=`, "nothing is shown in the very tick in which a frame begins: its pulses do"},
	{`«128U».* => 12[79]U$`, "a round is 256 counts: one more or less makes none"},
	{`left «<» needed.* => <=$`, "there are ticks to spare"},
	{`^«    sei\(\);»`, "after board_begin, board_rest lets interrupts in within a few passes"},
}

// scoreOfTheBoard is what came of all of them on 28 November 2026. Where board.cpp
// changes, TestScoreOfTheBoard fails: then the lines that have changed are to be tried, and
// their numbers written here.
var scoreOfTheBoard = map[string]int{"killed": 366, "argued": 36, "the same code": 3, "not C": 42}

// TestMutantsOfTheBoard changes one thing at a time in the demo's board.cpp. The chip
// bench has to see it, unless it is argued that there is nothing to see. MUTANTS is how
// many are tried, all, or an expression that names some, as in gen/harness:
//
//	MUTANTS=all go test -v -timeout 0 -run TestMutantsOfTheBoard ./gen/prove
func TestMutantsOfTheBoard(t *testing.T) {
	if testing.Short() || os.Getenv(spoiltBoard) != "" {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	lab := newLaboratory(t)
	require.NoError(t, bench.Try(lab.seeded.firmware.pressAll))
	require.NoError(t, lab.examine(t, lab.plain.board))
	some, err := mutate.Choose(mutate.Mutants("board.cpp", lab.plain.board), cmp.Or(os.Getenv("MUTANTS"), "3"))
	require.NoError(t, err, "MUTANTS")
	fates := map[string]int{}
	var lock sync.Mutex
	var workers sync.WaitGroup
	next := make(chan *mutate.Mutant)
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for m := range next {
				fate, err := lab.try(t, m)
				lock.Lock()
				if fates[fate]++; err != nil {
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

// Every mutant has a score, and every argument is for one.
func TestScoreOfTheBoard(t *testing.T) {
	board, err := os.ReadFile(filepath.Join(build(t, read(t, "harbour-heron.prop.toml")), "board.cpp"))
	require.NoError(t, err)
	all := mutate.Mutants("board.cpp", string(board))
	sum := 0
	for _, n := range scoreOfTheBoard {
		sum += n
	}
	assert.Equal(t, len(all), sum, "mutants of board.cpp: try those of the lines that have changed, as TestMutantsOfTheBoard says, and write down what comes of them")
	could := map[int]bool{}
	for _, a := range arguedOfTheBoard {
		before := len(could)
		for i, m := range all {
			if regexp.MustCompile(a.mutant).MatchString(m.Marked + " => " + m.Is) {
				could[i] = true
			}
		}
		assert.Greater(t, len(could), before, "an argument for no mutant: %s", a.mutant)
	}
	assert.LessOrEqual(t, scoreOfTheBoard["argued"], len(could))
}

// A laboratory tries the demo's board.cpp, as it is and with a seed, without which nobody
// knows what a prop does by chance.
type laboratory struct{ plain, seeded sketched }

type sketched struct {
	dir, board string // the folder, and what is in its board.cpp
	firmware   *Firmware
	flash      []byte
}

func newLaboratory(t *testing.T) *laboratory {
	made := func(seed uint32) sketched {
		d := read(t, "harbour-heron.prop.toml")
		d.Prop.Seed = seed
		s := sketched{dir: build(t, d), firmware: &Firmware{Study: check.NewStudy(d)}}
		board, err := os.ReadFile(filepath.Join(s.dir, "board.cpp"))
		require.NoError(t, err)
		s.board = string(board)
		require.NoError(t, s.firmware.Compile(s.dir, t.TempDir()))
		s.flash = flash(t, s.firmware)
		return s
	}
	return &laboratory{made(0), made(1)}
}

// try says what becomes of a mutant. The error is that nothing sees it.
func (lab *laboratory) try(t *testing.T, m *mutate.Mutant) (fate string, err error) {
	into, err := os.MkdirTemp("", "mutant")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(into)
	sound, board := &lab.seeded, seeding.ReplaceAllLiteralString(m.Text, seeding.FindString(lab.seeded.board))
	if seeding.FindString(m.Text) != seeding.FindString(lab.plain.board) { // it is the seed that is spoilt
		sound, board = &lab.plain, m.Text
	}
	dir := filepath.Join(into, filepath.Base(sound.dir))
	if err := os.CopyFS(dir, os.DirFS(sound.dir)); err != nil {
		return "", err
	}
	if err := os.WriteFile(filepath.Join(dir, "board.cpp"), []byte(board), 0o600); err != nil {
		return "", err
	}
	f := &Firmware{Study: check.NewStudy(sound.firmware.Study.Design)}
	if f.Compile(dir, into) != nil {
		return "not C", nil
	}
	if bytes.Equal(flash(t, f), sound.flash) {
		return "the same code", nil
	}
	if sound == &lab.seeded && bench.Try(f.pressAll) != nil {
		return "killed", nil
	}
	if lab.examine(t, m.Text) != nil {
		return "killed", nil
	}
	for _, a := range arguedOfTheBoard {
		if regexp.MustCompile(a.mutant).MatchString(m.Marked + " => " + m.Is) {
			t.Logf("argued: %s in %s: %s", m, m.Marked, a.why)
			return "argued", nil
		}
	}
	return "open", fmt.Errorf("%s: the bench does not see %s", m, m.Marked)
}

// examine has a board.cpp pass the examination.
func (lab *laboratory) examine(t *testing.T, board string) error {
	file := filepath.Join(t.TempDir(), "board.cpp")
	if err := os.WriteFile(file, []byte(board), 0o600); err != nil {
		return err
	}
	cmd := exec.Command(os.Args[0], "-test.failfast", "-test.parallel", "1", "-test.timeout", "10m", "-test.run", examination)
	cmd.Env = append(os.Environ(), spoiltBoard+"="+file)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	return nil
}

// pressAll looks at the pins while it presses each button: once one after the other, then
// each after the one that wakes the prop, and stop soon after it. Most mutants show within
// a second.
func (f *Firmware) pressAll(t bench.TB) {
	x := f.begin(t, true)
	press := func(button int, hold, wait ms) {
		x.press(button, hold)
		for end := x.now() + wait; x.now() < end; {
			x.to(x.now() + 100)
			x.settle()
			if wrong := x.differs(); wrong != nil {
				t.Fatal(wrong)
			}
		}
	}
	const stop, wake = 0, 1
	for i := range f.Study.Remote.Buttons {
		press(i, ms(i%2*900), 800)
	}
	for i := range f.Study.Remote.Buttons {
		press(wake, 0, 200)
		press(i, 0, 700)
		press(stop, 0, 100)
	}
}

// flash is what a firmware's program puts into the chip's flash.
func flash(t *testing.T, f *Firmware) (code []byte) {
	program, err := elf.Open(f.Program)
	require.NoError(t, err)
	defer program.Close()
	for _, name := range []string{".text", ".data"} {
		part, err := program.Section(name).Data()
		require.NoError(t, err)
		code = append(code, part...)
	}
	return code
}
