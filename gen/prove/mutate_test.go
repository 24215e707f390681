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

// spoil puts a subject's board.cpp in the place of the one in dir. Where the design has
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

// A subject is a design whose board.cpp is spoilt.
type subject struct {
	design      func(testing.TB) *model.Design
	examination string // the tests that a board.cpp has to pass, one after the other
	argued      []argument
	score       map[string]int // what came of all mutants on 28 November 2026
}

// An argument is why the design cannot show some mutants, by the line with what is changed
// between angle quotes, and what it is then.
type argument struct{ mutant, why string }

// subjects are the demo and, for the lines that its board.cpp has not, a design with all
// that can be on an expander on one. Where a board.cpp changes, TestScoreOfTheBoard fails:
// then the lines that have changed are to be tried, and their numbers written here.
var subjects = map[string]*subject{
	"demo": {
		func(t testing.TB) *model.Design { return read(t, "harbour-heron.prop.toml") },
		"^(TestBoardFromPowerUp|TestLightsDisturbNothing|TestLightsKeepTheClock|TestLimitsHoldWhateverHappens)$/^harbour-heron",
		arguedOfTheDemo,
		map[string]int{"killed": 363, "argued": 39, "the same code": 3, "not C": 42},
	},
	"expander": {
		func(t testing.TB) *model.Design { return expanded(t, "bell-buoy.prop.toml") },
		"^(TestExpanderIsSentTheNearestStep|TestBusThatWasDead|TestExpanderIsSetUpAgainAndAgain|TestExpandedServoIsHeldUp|TestExpanderThatWasGone|TestBusShowsWhatTheDesignAsks)$",
		arguedOfTheExpander,
		map[string]int{"killed": 323, "argued": 33, "the same code": 6, "not C": 28},
	},
}

// mutants returns those of a board.cpp; of the expander's, those of lines that the demo's has not.
func (s *subject) mutants(t testing.TB, board string) []mutate.Mutant {
	all := mutate.Mutants("board.cpp", board)
	if s == subjects["demo"] {
		return all
	}
	known := map[string]bool{}
	for _, m := range mutate.Mutants("board.cpp", subjects["demo"].board(t)) {
		known[m.Marked+" => "+m.Is] = true
	}
	return slices.DeleteFunc(all, func(m mutate.Mutant) bool { return known[m.Marked+" => "+m.Is] })
}

func (s *subject) board(t testing.TB) string {
	d := s.design(t)
	d.Prop.Seed = 0 // as the laboratory's
	text, err := os.ReadFile(filepath.Join(build(t, d), "board.cpp"))
	require.NoError(t, err)
	return string(text)
}

var arguedOfTheExpander = []argument{
	{`\[«6»\].* => 7$`, "room that nothing uses"},
	{`, «false»\}, /\* (lantern|rail):`, "only of triggers it is asked which level is active"},
	{`start \+ FRAME «-» EARLY.* => \+$`, "a frame begins 30 us late, which only pulses on pins would show"},
	{`^«    \{2, PRE_SCALE, PRESCALE\},\s`, "either may be set first while it sleeps"},
	{`0, 0, «0», FULL_OFF.* => 1$|on \? «0U».* => 1U$`, "of a channel that is full off or full on the other bits mean nothing (PCA9685 data sheet, rev. 4, section 7.3.3)"},
	{`^«    bus_expander = expander;»|EXPANDED «\+» i,.* => -$`, "there is one expander and one switch: both are 0"},
	{`TWCR = «0».* => 1$`, "TWIE, which the port, being off, has no use for (ATmega328P data sheet, DS40002061B, section TWCR)"},
	{`i «<» CHANNELS; i\+\+\) \{ => <=$`, "what comes after the table is the number of no expander"},
	{`i = «1»; i <= length.* => 0$`, "send_message writes the address there"},
	{`^«    last_channel = i;»`, "four channels are sent in a frame, whichever comes first"},
	{`pause = «2U».* => 3U$`, "the oscillator may have longer"},
	{`n «<» CHANNELS.* => <=$`, "the channel after the last one sent is looked at twice"},
	{`SETUP_STEPS «&&» .* => \|\|$`, "an expander that is set up has no pause; of one that is not and has none, send_setup has just sent a step"},
	{`edges_in == edges_out «&&» \(bus.* => \|\|$`, "what comes just before the chip sleeps waits for timer 0, 1.024 ms at the most"},
	{`«1U»\) / \(2U.* => 0U$`, "what lies in the middle of two steps is as near to the lower one"},
	{`ON_EXPANDER\) != «0U».* => 1U$`, "it is 0x80 or 0"},
	{`\(at «&» ON_EXPANDER\) != 0U && .* => \|$`, "all servos are on the expander"},
	{`at «&» \(uint8_t\)~ON_EXPANDER\]\.expander.* => \|$`, "it reads past the table, of what comes there a byte that is 0, as is the number of the only expander"},
	{`left «>» FRAME.* => >=`, "the tick in question is the interrupt's, which waits for the frame to begin"},
	{`left «<» needed.* => <=$`, "there are ticks to spare"},
	{`^«    UCSR0C = |^«    TWSR = 0;»`, "it is so after a reset (the same, sections UCSRnC and TWSR)"},
	{`i = «0»; i < CHANNELS.* => 1$|i «<» CHANNELS; i\+\+\) \{ => >=$|i < CHANNELS; i«\+\+»|^« +wanted\[i\] = FULL_OFF;»`, "of a servo what is planned is wanted, from the first frame on, before any is sent; a switch the start state turns off"},
	{`i = «0»; i < EXPANDED.* => 1$`, "the loop's first pass plans the first servo, before it can know of a fault, for which a servo waits"},
	{`TWBR = «72».* => 73$`, "98.8 kHz, which is standard mode too (NXP, UM10204, rev. 6, section 3.1)"},
}

var arguedOfTheDemo = []argument{
	{`, «false»\}, /\* (neck|beak|eyelid|wing|wheel|water):`, "only of triggers it is asked which level is active"},
	{`plans\[«2».* => 3$`, "room for a plan that nothing makes"},
	{`ir_high = «true»`, "board_begin sets it"},
	{`tick\) «<» 0.* => <=$|tick\) < «0».* => 1$`, "all pulses begin and end half a microsecond later"},
	{`\(end - TCNT1\) «>» .* => >=$|tick\) «<» -TO_LISTEN.* => <=$`, "there are ticks to spare"},
	{`end «>» width.* => >=$`, "of two pulses that are as wide either may be the first"},
	{`n = «0»; n < EDGES|n «<» EDGES.* => <=|n < EDGES && .* n«\+\+»`, "the next pass hands over what is left: the chip does not sleep before"},
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

// TestMutantsOfTheBoard changes one thing at a time in a subject's board.cpp. The chip
// bench has to see it, unless it is argued that there is nothing to see. MUTANTS is how
// many are tried, all, or an expression that names some, as in gen/harness:
//
//	MUTANTS=all go test -v -timeout 0 -run TestMutantsOfTheBoard ./gen/prove
func TestMutantsOfTheBoard(t *testing.T) {
	if testing.Short() || os.Getenv(spoiltBoard) != "" {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for name, s := range subjects {
		t.Run(name, func(t *testing.T) {
			lab := newLaboratory(t, s)
			require.NoError(t, bench.Try(lab.seeded.firmware.pressAll))
			require.NoError(t, lab.examine(t, lab.plain.board))
			some, err := mutate.Choose(s.mutants(t, lab.plain.board), cmp.Or(os.Getenv("MUTANTS"), "2"))
			require.NoError(t, err, "MUTANTS")
			fates := map[string]int{}
			var lock sync.Mutex
			mutate.Each(some, func(m *mutate.Mutant) {
				fate, err := lab.try(t, m)
				lock.Lock()
				defer lock.Unlock()
				if fates[fate]++; err != nil {
					t.Error(err)
				}
			})
			t.Logf("board.cpp: %v of %d", fates, len(some))
			if os.Getenv("MUTANTS") == "" {
				require.Positive(t, fates["killed"])
			}
		})
	}
}

// Every mutant has a score, and every argument is for one.
func TestScoreOfTheBoard(t *testing.T) {
	for name, s := range subjects {
		t.Run(name, func(t *testing.T) {
			all := s.mutants(t, s.board(t))
			sum := 0
			for _, n := range s.score {
				sum += n
			}
			assert.Equal(t, len(all), sum, "mutants of board.cpp: try those of the lines that have changed, as TestMutantsOfTheBoard says, and write down what comes of them")
			could := map[int]bool{}
			for _, a := range s.argued {
				before := len(could)
				for i, m := range all {
					if regexp.MustCompile(a.mutant).MatchString(m.Marked + " => " + m.Is) {
						could[i] = true
					}
				}
				assert.Greater(t, len(could), before, "an argument for no mutant: %s", a.mutant)
			}
			assert.LessOrEqual(t, s.score["argued"], len(could))
		})
	}
}

// A laboratory tries a subject's board.cpp, as it is and with a seed, without which nobody
// knows what a prop does by chance.
type laboratory struct {
	*subject
	plain, seeded sketched
}

type sketched struct {
	dir, board string // the folder, and what is in its board.cpp
	firmware   *Firmware
	flash      []byte
}

func newLaboratory(t *testing.T, s *subject) *laboratory {
	made := func(seed uint32) sketched {
		d := s.design(t)
		d.Prop.Seed = seed
		s := sketched{dir: build(t, d), firmware: &Firmware{Study: check.NewStudy(d)}}
		board, err := os.ReadFile(filepath.Join(s.dir, "board.cpp"))
		require.NoError(t, err)
		s.board = string(board)
		require.NoError(t, s.firmware.Compile(s.dir, t.TempDir()))
		s.flash = flash(t, s.firmware)
		return s
	}
	return &laboratory{s, made(0), made(1)}
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
	for _, a := range lab.argued {
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
	cmd := exec.Command(os.Args[0], "-test.failfast", "-test.parallel", "1", "-test.timeout", "10m", "-test.run", lab.examination)
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
