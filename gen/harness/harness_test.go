package harness

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/gen"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/designs/odd"
	"propwright/model/random"
	"propwright/model/rehearsal"
)

// write builds a design's sketch and harness into a new folder.
func write(t testing.TB, d *model.Design, scripts ...*rehearsal.Script) string {
	t.Helper()
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	more, err := Files(check.NewStudy(d), files, scripts)
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), sketch.Folder(d))
	_, err = gen.Write(dir, append(files, more...))
	require.NoError(t, err)
	return dir
}

// run runs the harness of a folder that write made and returns what it says.
func run(t testing.TB, dir string, cgo bool, args ...string) (string, error) {
	t.Helper()
	if cgo {
		need(t, "gcc")
	}
	cmd := exec.Command("go", append([]string{"test"}, args...)...)
	cmd.Dir = filepath.Join(dir, Folder)
	enabled := "CGO_ENABLED=0"
	if cgo {
		enabled = "CGO_ENABLED=1"
		cmd.Args = append(cmd.Args, "-events", "5000")
	}
	// The harness is a module of its own, whatever the tests are run with.
	cmd.Env = append(os.Environ(), enabled, "GOFLAGS=", "GOWORK=off")
	out, err := cmd.CombinedOutput()
	return string(out), err
}

// need ends a test that needs a compiler which is not installed.
func need(t testing.TB, compilers ...string) {
	t.Helper()
	for _, compiler := range compilers {
		if _, err := exec.LookPath(compiler); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatal(err)
			}
			t.Skip(err)
		}
	}
}

func demo(t testing.TB) *model.Design {
	t.Helper()
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	return d
}

// small is a design whose every kind of move has one line in the tables, and more that is
// written into its file.
func small(t testing.TB, more ...string) *model.Design {
	t.Helper()
	text, err := os.ReadFile("testdata/gull.prop.toml")
	require.NoError(t, err)
	d, err := model.Read("gull.prop.toml", []byte(string(text)+strings.Join(more, "")))
	require.NoError(t, err)
	return d
}

// wing is a servo that is at its fastest in the second frame of a move, where three times
// what it gains in one would be more than 16 bits hold; and a routine that no state plays,
// so that the firmware has no such ease.
const wing = `
[[output]]
name = "wing"
kind = "servo"
pin = 9
min = "-40deg"
max = "40deg"
rest = "0deg"
us_at_min = 600
us_at_max = 2400
max_accel = "24000deg/s2"

[[routine]]
name = "flap"
length = "1s"

[[routine.cue]]
at = "0s"
output = "wing"
to = "40deg"
over = "1s"
ease = "out"
`

func TestHarnessPasses(t *testing.T) {
	live := small(t) // its firmware tells over a serial line what it does
	live.Prop.Live = true
	for name, d := range map[string]*model.Design{"demo": demo(t), "small": small(t), "live": live} {
		if testing.Short() && name != "small" {
			continue // that compiles much; the whole run does it
		}
		t.Run(name, func(t *testing.T) {
			dir := write(t, d)
			out, err := run(t, dir, true, "-v", ".")
			require.NoError(t, err, out)
			for _, test := range []string{"TestSeed", "TestNames", "TestEveryPair", "TestDone", "TestForEver", "TestAfter", "TestTimersAreDrawn", "TestDraw", "TestOrder", "TestQueue", "TestButtons", "TestSilence", "TestTolerance", "TestTruncated", "TestForeign", "TestConformance", "TestHeld", "TestLostRepeats", "TestToleranceOfRepeats", "TestNotItsRepeats", "TestFirst", "TestNoise", "TestLost", "TestInterrupted", "TestBusy", "TestOutputs", "TestHaste", "TestStalls", "TestOrders", "TestBoundaries", "TestSounds", "TestReset", "TestMotors", "TestMessages", "TestReading", "TestSteering", "TestMemory", "TestSpoilt", "TestLoop", "TestStop", "TestRandomEvents", "TestFirmwareIsTheOneBuilt"} {
				require.Contains(t, out, "--- PASS: "+test+" ")
			}
			require.NotContains(t, out, "SKIP")
			if name != "demo" { // the Go around the tables is the same for all
				return
			}

			out, err = run(t, dir, false, "-v", ".")
			require.NoError(t, err, out)
			require.Contains(t, out, "--- PASS: TestEveryStateCanBeReached ")
			require.Contains(t, out, "no C compiler here")
			out, err = run(t, dir, false)
			require.NoError(t, err, out)
			require.Contains(t, out, "no C compiler here", "also without -v")

			vet := exec.Command("go", "vet", ".")
			vet.Dir = filepath.Join(dir, Folder)
			vet.Env = append(os.Environ(), "GOFLAGS=", "GOWORK=off")
			said, err := vet.CombinedOutput()
			require.NoError(t, err, string(said))
		})
	}
}

// The firmware and what the harness adds to it give no warning as C99.
func TestHarnessGivesNoWarning(t *testing.T) {
	need(t, "gcc")
	dir := filepath.Join(write(t, demo(t)), Folder)
	for _, unit := range units {
		out, err := exec.Command("gcc", "-std=c99", "-O1", "-Wall", "-Wextra", "-Werror", "-c", filepath.Join(dir, unit+".c"), "-o", os.DevNull).CombinedOutput()
		require.NoError(t, err, string(out))
	}
}

// Generated Go is formatted as gofmt does.
func TestFilesAreFormatted(t *testing.T) {
	dir := write(t, demo(t))
	out, err := exec.Command("gofmt", "-l", filepath.Join(dir, Folder)).CombinedOutput()
	require.NoError(t, err)
	require.Empty(t, string(out))
}

func TestFilesAreTheSameEachTime(t *testing.T) {
	d := demo(t)
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	first, err := Files(check.NewStudy(d), files, nil)
	require.NoError(t, err)
	for range 3 {
		again, err := Files(check.NewStudy(d), files, nil)
		require.NoError(t, err)
		require.Equal(t, first, again)
	}
}

// randomDesigns draws designs, the same ones each time. What one does need not be
// sound (a state that nothing reaches); the firmware must do it all the same.
func randomDesigns(t *testing.T, most int) (all []*model.Design) {
	size := random.Usual
	size.States = random.Range{Lo: 2, Hi: 8}
	size.Transitions = random.Range{Lo: 6, Hi: 30}
	drawn := rapid.Custom(size.Design)
	for seed := 1; len(all) < most; seed++ {
		require.Less(t, seed, 10*most, "hardly any design can be built")
		d := drawn.Example(seed)
		if _, err := sketch.Files(check.NewStudy(d)); err == nil { // else more than the firmware's counters hold
			all = append(all, d)
		}
	}
	return all
}

// Each costs a compilation, so there are few.
func TestHarnessOfRandomDesigns(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	bare := small(t, wing) // repeats without a leader say whose they are, in holds and releases
	for i := range bare.Remote.Buttons {
		bare.Remote.Buttons[i].Code = fmt.Sprintf("jvc:0x04:0x%02x", i)
	}
	for i, d := range append(randomDesigns(t, 4), odd.Whole(t)["half-asleep"], bare) {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			out, err := run(t, write(t, d), true, "-skip", "CanBeReached|CanAlwaysBeReached", ".")
			require.NoError(t, err, out)
		})
	}
}

// TestHarnessSeesWrongFirmware spoils the C, then expects the test that looks
// at the spoilt thing to fail. The harness knows nothing of the change: it
// was made for the sound files.
func TestHarnessSeesWrongFirmware(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	lab := newLaboratory(t, write(t, small(t)))
	for _, c := range []struct {
		file, old, new string // a change that must be possible exactly once
		test           string // that must fail
	}{
		// machine.c
		{"machine.c", "back = pw_state;", "back = target;", "TestEveryPair"},
		{"machine.c", "here.kind != PW_PERFORMING", "here.kind == PW_PERFORMING", "TestEveryPair"},
		{"machine.c", "target = back;", "target = PW_START;", "TestDone"},
		{"machine.c", "    deferred = PW_NOWHERE;\n", "", "TestEveryPair"},
		{"machine.c", "time_here >= here.length", "time_here > here.length", "TestDone"},
		{"machine.c", "here.length = PW_NEVER; /* once */", "", "TestDone"},
		{"machine.c", "take(deferred);", "dispatch(PW_EVENT_DONE);", "TestDone"},
		{"machine.c", "(hi - lo + 1U)", "(hi - lo)", "TestTimersAreDrawn"},
		{"machine.c", "x << 13", "x << 14", "TestTimersAreDrawn"},
		{"machine.c", "due[i] < due[first]", "due[i] <= due[first]", "TestAfter"},
		{"machine.c", "due[first] <= time_here", "due[first] < time_here", "TestAfter"},
		{"machine.c", "due[first] = PW_NEVER;", "", "TestAfter"},
		{"machine.c", "time_here--;", "", "TestForEver"},
		{"machine.c", "#define QUEUE 8", "#define QUEUE 7", "TestQueue"},
		{"machine.c", "    queued = 0;\n    if (time_here", "    if (time_here", "TestQueue"},
		{"machine.c", "    player_enter(&here);\n", "", "TestEveryPair"},
		{"machine.c", "back = PW_START;", "back = 0;", "TestPowerUp"},
		// tables.c
		{"tables.c", "{PW_EVENT_PRESS_CRY, PW_GO, PW_STATE_CALL}", "{PW_EVENT_PRESS_CRY, PW_GO, PW_STATE_PECK}", "TestEveryPair"},
		{"tables.c", "{PW_EVENT_PRESS_CRY, PW_DEFER, PW_STATE_PECK}", "{PW_EVENT_PRESS_CRY, PW_IGNORE, PW_STATE_PECK}", "TestEveryPair"},
		{"tables.c", "{PW_EVENT_PRESS_CRY, PW_IGNORE, PW_NOWHERE}", "{PW_EVENT_PRESS_CRY, PW_DEFER, PW_STATE_NEST}", "TestEveryPair"},
		{"tables.c", "{PW_EVENT_DONE, PW_GO, PW_BACK}", "{PW_EVENT_DONE, PW_GO, PW_STATE_LOOK}", "TestDone"},
		{"tables.c", "2500UL", "2501UL", "TestDone"},
		{"tables.c", "30000UL, 35000UL", "30000UL, 35001UL", "TestTimersAreDrawn"},
		{"tables.c", "{PW_DEFER, PW_BACK, 1000UL", "{PW_GO, PW_BACK, 1000UL", "TestAfter"},
		{"tables.c", "{0xE718FB04UL}", "{0xE619FB04UL}", "TestButtons"},
		{"tables.c", "PW_EVENT_HOLD_CRY_800MS, 800", "PW_EVENT_HOLD_CRY_800MS, 600", "TestButtons"},
		{"tables.c", "PW_EVENT_FALL_PERCH, 20}", "PW_EVENT_FALL_PERCH, 21}", "TestInputs"},
		// ir.c, tables.h
		{"ir.c", "pw_post(button);", "pw_post((uint8_t)(button + 1U));", "TestButtons"},
		{"tables.h", "#define PW_RELEASE_MS 378", "#define PW_RELEASE_MS 379", "TestButtons"},
	} {
		lab.fails(t, c.file, c.old, c.new, c.test)
	}
}

// The same for outputs that follow a voice.
func TestHarnessSeesWrongVoices(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	lab := newLaboratory(t, write(t, odd.Whole(t)["voices"].Wired()))
	for _, c := range [][2]string{
		{"? two >> 4 : two & 15", "? two & 15 : two >> 4"},
		{"            f->frame++;\n", ""},
		{"(loud > UINT16_MAX)", "(loud > 2UL * UINT16_MAX)"},
		{"(loud - f->level) * v.attack", "(loud - f->level) * v.release"},
		{"(f->level - loud) * v.release + 255U", "(f->level - loud) * v.release"},
		{"v.quiet - share_of(", "v.quiet + share_of("},
		{"(f->level + 128UL) >> 8", "f->level >> 8"},
		{"layers[output].level = 0;", ""},
		{"        end_follow(output);\n        start_move", "        start_move"},
		{"{\n    memset(followers, PW_NO_FOLLOW, sizeof followers);\n    for", "{\n    for"},
		{"    f->frame = 0;\n    f->level = 0;\n", "    f->frame = 0;\n"},
	} {
		lab.fails(t, "player.c", c[0], c[1], voiceTests)
	}
	for _, c := range [][2]string{
		{"{0, 0, 53, 3200,", "{1, 0, 53, 3200,"},                                       // another output
		{"{0, 0, 53, 3200,", "{0, 1, 53, 3200,"},                                       // the loudness from elsewhere
		{"{1, 18, 35, 3400,", "{1, 18, 20, 3400,"},                                     // not to its end
		{"3200, 2500, 6554, 162, 57}", "3210, 2500, 6554, 162, 57}"},                   // in silence
		{"3200, 2500, 6554, 162, 57}", "3200, 2510, 6554, 162, 57}"},                   // at the loudest
		{"3200, 2500, 6554, 162, 57}", "3200, 2500, 4369, 162, 57}"},                   // gain
		{"3200, 2500, 6554, 162, 57}", "3200, 2500, 6554, 57, 162}"},                   // attack and release
		{"{PW_VOICE_LIGHT + 1, 0, 53, 2,", "{PW_VOICE_LIGHT + 1, 0, 53, 1,"},           // the colours
		{"    0x10, 0x52, 0xB8,", "    0x01, 0x52, 0xB8,"},                             // the loudness itself
		{"4369, 162, 57}, /* beak follows hum", "4369, 162, 58}, /* beak follows hum"}, // of another cue
	} {
		lab.fails(t, "tables.c", c[0], c[1], voiceTests)
	}
}

const voiceTests = "TestOutputs|TestBoundaries|TestSounds|TestLoop|TestRandomEvents"

// The same for choices between states.
func TestHarnessSeesWrongChoices(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	d := odd.Whole(t)["choices"]
	for i := range d.Transitions {
		tr := &d.Transitions[i]
		if c, ok := model.ParseChoice(tr.To); ok && c.InTurn {
			c.States = []string{"quip", "grumble", "gossip"} // of two the other way round is the same
			tr.To = c.String()
		}
	}
	lab := newLaboratory(t, write(t, d))
	for _, c := range []struct{ file, old, new string }{
		{"machine.c", "    if (at >= last) {\n        at++;\n    }\n", ""},                                // the same again
		{"machine.c", "last < count ? count - 2U : count - 1U", "count - 1U"},                             // beyond the last
		{"machine.c", "last < count ? count - 2U : count - 1U", "last < count ? count - 2U : count - 2U"}, // never the last at first
		{"machine.c", "    chosen = pw_byte(&states[at]);\n", "    chosen = PW_START;\n"},
		{"machine.c", "now + 1U < count ? now + 1U : 0U", "now > 0U ? now - 1U : count - 1U"}, // the other way round
		{"machine.c", "now + 1U < count ? now + 1U : 0U", "now"},
		{"machine.c", "now + 1U < count ? now + 1U : 0U", "now + 1U < count ? now + 1U : now"},
		{"tables.c", "PW_STATE_QUIP, PW_STATE_GOSSIP, PW_STATE_GRUMBLE,", "PW_STATE_QUIP, PW_STATE_GRUMBLE, PW_STATE_GOSSIP,"},
		{"tables.c", "PW_STATE_QUIP, PW_STATE_GRUMBLE, PW_STATE_GOSSIP,", "PW_STATE_GRUMBLE, PW_STATE_QUIP, PW_STATE_GOSSIP,"}, // in turn
		{"tables.c", "{PW_AT_RANDOM, 3, 0}", "{PW_AT_RANDOM, 2, 0}"},
		{"tables.c", "{PW_AT_RANDOM, 2, 6}", "{PW_AT_RANDOM, 2, 5}"},
		{"tables.c", "{0, 3, 3}", "{PW_AT_RANDOM, 3, 3}"},
		{"tables.c", "PW_GO, PW_CHOICE + 1U}", "PW_GO, PW_CHOICE + 2U}"},
		{"tables.c", "PW_GO, PW_CHOICE + 1U}", "PW_GO, PW_STATE_QUIP}"},
	} {
		lab.fails(t, c.file, c.old, c.new, "TestEveryPair|TestDone|TestAfter|TestConformance")
		if c.file == "machine.c" || !strings.Contains(c.old, "PW_AT_RANDOM") {
			lab.fails(t, c.file, c.old, c.new, "TestConformance")
		}
	}
}

// The same for what transitions order.
func TestHarnessSeesWrongOrders(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	lab := newLaboratory(t, write(t, odd.Whole(t)["orders"].Wired()))
	for _, c := range []struct{ file, old, new, test string }{
		{"machine.c", "        player_order(target);\n", "", "TestEveryPair"},
		{"ir.c", "    post_press_events(PW_ON_REPEAT - 1U, PW_ON_REPEAT);\n", "", "TestButtons"},
		{"player.c", "i < end; i++", "i + 1U < end; i++", "TestRandomEvents"},
		{"player.c", "(int32_t)moves[servo].to + by", "(int32_t)moves[servo].to - by", "TestRandomEvents"},
		{"player.c", "(int32_t)moves[servo].to + by", "(int32_t)moves[servo].from + by", "TestRandomEvents"},
		{"player.c", "    if (to < lowest) {\n        return lowest;", "    if (to < lowest) {\n        return highest;", "TestRandomEvents"},
		{"player.c", "to > highest ? highest", "to > highest ? lowest", "TestRandomEvents"},
		{"player.c", "what - PW_CUE_BY_LINEAR + PW_CUE_LINEAR", "what - PW_CUE_BY_LINEAR + PW_CUE_SMOOTH", "TestRandomEvents"},
		{"player.c", "!board_switched(output)", "board_switched(output)", "TestRandomEvents"},
		{"player.c", "lit(output) ? OFF : (uint8_t)value", "(uint8_t)value", "TestRandomEvents"},
		// Another order, none, in another state, and a state in place of an order.
		{"tables.c", "{PW_EVENT_HOLD_BELL_600MS, PW_DO, 7}", "{PW_EVENT_HOLD_BELL_600MS, PW_DO, 6}", "TestConformance"},
		{"tables.c", "{PW_EVENT_HOLD_BELL_600MS, PW_DO, 7}", "{PW_EVENT_HOLD_BELL_600MS, PW_IGNORE, PW_NOWHERE}", "TestConformance"},
		{"tables.c", "{PW_EVENT_HOLD_BELL_600MS, PW_DO, 7}", "{PW_EVENT_HOLD_BELL_600MS, PW_GO, PW_STATE_WATCH}", "TestConformance"},
		{"tables.c", "    {PW_EVENT_PRESS_LAMP, PW_DO, 5},\n", "    {PW_EVENT_PRESS_LAMP, PW_DO, 4},\n", "TestConformance"},
		{"tables.c", "{PW_EVENT_PRESS_WAKE, PW_GO, PW_STATE_TALK}", "{PW_EVENT_PRESS_WAKE, PW_DO, 5}", "TestConformance"},
		{"tables.c", "{PW_DO, 7, 8000UL, 12000UL}", "{PW_DO, 8, 8000UL, 12000UL}", "TestConformance"},
		{"tables.c", "{PW_DO, 7, 8000UL, 12000UL}", "{PW_GO, PW_STATE_STARE, 8000UL, 12000UL}", "TestConformance"},
		{"tables.c", "PW_CUE_SEND, 0, 2, 0}, /* voice louder", "PW_CUE_SEND, 0, 3, 0}, /* voice louder", "TestRandomEvents"},
		{"tables.c", "PW_CUE_BY_SMOOTH, 0, 48, 15}", "PW_CUE_BY_SMOOTH, 0, 48, 14}", "TestRandomEvents"},
		{"tables.c", "PW_CUE_BY_SMOOTH, 0, 48, 15}", "PW_CUE_BY_SMOOTH, 0, 47, 15}", "TestRandomEvents"},
		{"tables.c", "PW_CUE_SET, 0, 0, 0}, /* lantern off */", "PW_CUE_SET, 0, 1, 0}, /* lantern off */", "TestRandomEvents"},
		{"tables.c", "PW_CUE_TOGGLE, 0, 0, 0}", "PW_CUE_SET, 0, 1, 0}", "TestRandomEvents"},
		{"tables.c", "    15,\n    17,\n", "    16,\n    17,\n", "TestRandomEvents"}, // one too many for one, one too few for the next
	} {
		lab.fails(t, c.file, c.old, c.new, c.test)
	}
}

// fails expects that a test sees a change, which must be possible exactly once.
func (lab *laboratory) fails(t *testing.T, file, old, new, test string) {
	t.Run(file+"/"+strings.TrimSpace(new+" for "+old), func(t *testing.T) {
		text, err := os.ReadFile(filepath.Join(lab.dir, file))
		require.NoError(t, err)
		require.Equal(t, 1, strings.Count(string(text), old), "%q in %s", old, file)
		dir, err := lab.spoilt(file, strings.Replace(string(text), old, new, 1))
		defer os.RemoveAll(dir)
		require.NoError(t, err)
		require.NoError(t, lab.link(dir))
		require.ErrorContains(t, lab.run(dir, 10, "-test.run", "^("+test+")$"), "--- FAIL: ")
	})
}

// scripted is a design with requirements of every form and a rehearsal.
func scripted(t testing.TB, script string) (*model.Design, []*rehearsal.Script) {
	text, err := os.ReadFile("testdata/gull.prop.toml")
	require.NoError(t, err)
	for _, that := range []string{
		"reachable peck",
		"from nest press wake, cry ends in call",
		"look within 400ms after after 20s..40s",
		"never peck within 19s after done",
	} {
		text = append(text, "\n[[require]]\nthat = \""+that+"\"\n"...)
	}
	d, err := model.Read("gull.prop.toml", text)
	require.NoError(t, err)
	s, err := rehearsal.ParseScript("gull.dusk.rehearsal.txt", []byte(script))
	require.NoError(t, err)
	return d, []*rehearsal.Script{s}
}

const dusk = `# Two performances, one that waits for the other.
press wake
expect look
hold cry for 1s     # too late: the press calls
expect call
wait 2m
expect nest
press wake
wait 30ms
press cry
wait 1.6s
press cry           # waits for the end of the call
wait 1s
expect peck
wait 60m
`

func TestRehearsalsAndRequirementsAreCases(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	d, scripts := scripted(t, dusk)
	dir := write(t, d, scripts...)
	out, err := run(t, dir, true, "-v", "-run", "TestRehearsals|TestRequirements", ".")
	require.NoError(t, err, out)
	for _, name := range []string{
		"TestRehearsals/dusk",
		"TestRequirements/reachable_peck",
		"TestRequirements/from_nest_press_wake,_cry_ends_in_call",
		"TestRequirements/look_within_400ms_after_after_20s..40s",
		"TestRequirements/never_peck_within_19s_after_done",
	} {
		require.Contains(t, out, "--- PASS: "+name+" ")
	}

	// What is expected and does not come fails, with its place.
	_, scripts = scripted(t, "press wake\nexpect cliff\n")
	out, err = run(t, write(t, d, scripts...), true, "-run", "TestRehearsals", ".")
	require.Error(t, err, out)
	require.Contains(t, out, "after 1 ms the firmware is in look, want cliff: gull.dusk.rehearsal.txt, line 2")

	// A script that names what is not there is refused.
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	_, scripts = scripted(t, "press wakee\n")
	_, err = Files(check.NewStudy(d), files, scripts)
	require.EqualError(t, err, `gull.dusk.rehearsal.txt:1:1: there is no button "wakee"; write "wake"`)
}

// Firmware that is spoilt after the harness was made fails its cases.
func TestCasesSeeWrongFirmware(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	d, scripts := scripted(t, dusk)
	lab := newLaboratory(t, write(t, d, scripts...))
	lab.fails(t, "machine.c", "take(deferred);", "dispatch(PW_EVENT_DONE);", "TestRehearsals")
	lab.fails(t, "machine.c", "time_here >= here.length", "time_here > here.length", "TestRequirements")
	lab.fails(t, "tables.c", "{PW_EVENT_PRESS_CRY, PW_GO, PW_STATE_CALL}", "{PW_EVENT_PRESS_CRY, PW_GO, PW_STATE_PECK}", "TestRequirements")
}

// The demo's evening is what the rehearsal says, on the firmware too.
func TestRehearsalOfTheDemo(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	d, err := model.Load("../../model/designs/harbour-heron.prop.toml")
	require.NoError(t, err)
	scripts, err := rehearsal.Beside(d.File)
	require.NoError(t, err)
	require.NotEmpty(t, scripts)
	out, err := run(t, write(t, d, scripts...), true, "-v", "-run", "TestRehearsals", ".")
	require.NoError(t, err, out)
	require.Contains(t, out, "--- PASS: TestRehearsals/evening ")
}
