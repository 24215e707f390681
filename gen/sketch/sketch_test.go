package sketch_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/gen"
	"propwright/gen/avr"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/designs/odd"
	"propwright/model/random"
)

// several are the demo and random designs that between them use every kind of
// output, effect, trigger and input.
func several(t testing.TB, n int) []*model.Design {
	heron, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	ds := []*model.Design{heron}
	g := rapid.Custom(random.Design)
	for i := range n {
		ds = append(ds, g.Example(i))
	}
	return ds
}

// write writes a design's sketch into a folder of its name.
func write(t testing.TB, d *model.Design) (dir string) {
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	dir = filepath.Join(t.TempDir(), sketch.Folder(d))
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
	return dir
}

func need(t testing.TB, tool string) {
	if _, err := exec.LookPath(tool); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s is missing; run testdata/setup", tool)
		}
		t.Skipf("%s is missing; run testdata/setup", tool)
	}
}

// A maker's compiler may be stricter than the usual one; hooks.cpp is the
// maker's own and compiled like the rest.
func TestCompilesWithoutWarningsForTheChip(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	need(t, "avr-gcc")
	tc, err := avr.Find()
	require.NoError(t, err)
	tc.Flags = []string{"-Wall", "-Wextra", "-Wshadow", "-Wcast-qual", "-Werror"}
	for i, d := range several(t, 12) {
		_, err := tc.Build(context.Background(), write(t, d), t.TempDir(), "atmega328p")
		require.NoError(t, err, "design %d: %s", i, d.Format())
	}
}

// The machine, the tables, the decoder and the player are ISO C99.
func TestPortablePartIsCleanC99(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	need(t, "gcc")
	need(t, "cppcheck")
	for i, d := range several(t, 6) {
		dir := write(t, d)
		for _, c := range []string{"machine.c", "tables.c", "ir.c", "player.c"} {
			out, err := exec.Command("gcc", "-std=c99", "-pedantic", "-Wall", "-Wextra", "-Wconversion", "-Wsign-conversion",
				"-Wshadow", "-Wcast-qual", "-Wstrict-prototypes", "-Wmissing-prototypes", "-Wundef", "-Werror", "-O1", "-fanalyzer",
				"-c", "-o", filepath.Join(dir, c+".o"), filepath.Join(dir, c)).CombinedOutput()
			require.NoError(t, err, "design %d: %s\n%s", i, c, out)
		}
		out, err := exec.Command("cppcheck", "--quiet", "--error-exitcode=1", "--std=c99",
			"--enable=warning,style,performance,portability", dir).CombinedOutput()
		require.NoError(t, err, "design %d:\n%s", i, out)
	}
}

// What is C++ and not the chip's compiles on this computer too, with nothing
// of the core but the name of its header.
func TestPortableCPlusPlusIsClean(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	need(t, "g++")
	shim := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(shim, "Arduino.h"), []byte("#include <stdint.h>\n"), 0o644))
	for i, d := range several(t, 12) {
		dir := write(t, d)
		for _, name := range []string{"hooks.cpp", sketch.Folder(d) + ".ino"} {
			out, err := exec.Command("g++", "-std=gnu++11", "-Wall", "-Wextra", "-Werror", "-fsyntax-only", "-I", shim,
				"-x", "c++", filepath.Join(dir, name)).CombinedOutput()
			require.NoError(t, err, "design %d: %s\n%s", i, name, out)
		}
		// The C files are C++ as well, for whoever renames them.
		for _, name := range []string{"machine.c", "tables.c", "ir.c", "player.c"} {
			out, err := exec.Command("g++", "-std=gnu++11", "-Wall", "-Wextra", "-Werror", "-fsyntax-only",
				"-x", "c++", filepath.Join(dir, name)).CombinedOutput()
			require.NoError(t, err, "design %d: %s\n%s", i, name, out)
		}
	}
}

// The Power of Ten (G. Holzmann, IEEE Computer 39(6), 2006), rules 1 to 3: no
// recursion, bounded loops, no heap; and nothing that waits.
func TestNoHeapNoRecursionNoEndlessLoop(t *testing.T) {
	banned := regexp.MustCompile(`\b(malloc|calloc|realloc|free|new|delete|goto|setjmp|longjmp|delay|delayMicroseconds|String)\b\s*[({\[]`)
	function := regexp.MustCompile(`(?m)^(?:static |inline )*[a-z_0-9]+ \*?([a-z_]+)\([^;{]*\)\n\{\n((?s:.*?))^\}`)
	for _, d := range several(t, 12) {
		files, err := sketch.Files(check.NewStudy(d))
		require.NoError(t, err)
		calls := map[string]map[string]bool{}
		for _, f := range files {
			code := comments.ReplaceAll(f.Text, nil)
			assert.Empty(t, banned.FindAllString(string(code), -1), f.Path)
			assert.NotContains(t, string(code), "while (true)", f.Path)
			for _, m := range function.FindAllSubmatch(code, -1) {
				calls[string(m[1])] = map[string]bool{}
				for _, c := range regexp.MustCompile(`\b([a-z_0-9]+)\(`).FindAllSubmatch(m[2], -1) {
					calls[string(m[1])][string(c[1])] = true
				}
			}
		}
		require.Contains(t, calls, "pw_step", "the functions were found")
		require.True(t, calls["pw_step"]["dispatch"], "and their calls")
		for f := range calls {
			assert.False(t, reaches(calls, f, f, map[string]bool{}), "%s calls itself", f)
		}
	}
}

var comments = regexp.MustCompile(`(?s)/\*.*?\*/|//[^\n]*`)

func reaches(calls map[string]map[string]bool, from, to string, seen map[string]bool) bool {
	for c := range calls[from] {
		if c == to {
			return true
		}
		if !seen[c] {
			seen[c] = true
			if reaches(calls, c, to, seen) {
				return true
			}
		}
	}
	return false
}

func TestSameDesignSameBytes(t *testing.T) {
	for _, d := range several(t, 20) {
		a, err := sketch.Files(check.NewStudy(d))
		require.NoError(t, err)
		again, err := model.Read(d.File, d.Format())
		require.NoError(t, err)
		b, err := sketch.Files(check.NewStudy(again))
		require.NoError(t, err)
		require.Equal(t, len(a), len(b))
		for i := range a {
			assert.True(t, bytes.Equal(a[i].Text, b[i].Text), a[i].Path)
		}
	}
}

func TestOnlyBoardKnowsTheChip(t *testing.T) {
	files, err := sketch.Files(check.NewStudy(several(t, 0)[0]))
	require.NoError(t, err)
	chip := regexp.MustCompile(`\b(PORT[A-Z]|DDR[A-Z]|PIN[A-Z]|TCNT1|OCR1A|SREG|UDR0|cli|sei|ISR)\b`)
	seen := false
	for _, f := range files {
		found := chip.Match(comments.ReplaceAll(f.Text, nil))
		if f.Path == "board.cpp" {
			seen = found
			continue
		}
		assert.False(t, found, f.Path)
	}
	assert.True(t, seen, "board.cpp names registers")
}

// Notes may hold anything; in a comment they must do no harm.
func TestNotesBecomeHarmlessComments(t *testing.T) {
	need(t, "gcc")
	d := several(t, 0)[0]
	wild := "ends */ int x; /* opens // \\\n next line ??/ \u202e turned \x01 and UTF-8: Möwe 鷺"
	d.Prop.Note, d.Prop.Label, d.States[0].Label, d.States[1].Note = wild, wild, wild, wild
	d.Transitions[0].Note, d.Outputs[0].Note, d.Remote.Buttons[0].Note = wild, wild, wild
	d.Routines[0].Note, d.Routines[0].Cues[0].Note = wild, wild
	dir := write(t, d)
	out, err := exec.Command("gcc", "-std=c99", "-Wall", "-Wextra", "-Wcomment", "-Wtrigraphs", "-Wbidi-chars=any", "-Werror",
		"-fsyntax-only", filepath.Join(dir, "tables.c")).CombinedOutput()
	require.NoError(t, err, string(out))
	text, err := os.ReadFile(filepath.Join(dir, "tables.h"))
	require.NoError(t, err)
	assert.Contains(t, string(text), "Möwe 鷺")
}

// Whatever an element's note says stands in the sketch, in a comment. A
// requirement is not a part of the firmware.
func TestEveryNoteIsInTheSketch(t *testing.T) {
	d := buoy(t, "[[output]]\nname = \"horn\"", "[[input]]\nname = \"tide\"\npin = 16\n\n[[output]]\nname = \"horn\"")
	var notes []string
	note := func(what string, of *string) {
		*of = fmt.Sprintf("note %d, of a %s", len(notes), what)
		notes = append(notes, *of)
	}
	note("prop", &d.Prop.Note)
	note("supply", &d.Supply.Note)
	note("remote", &d.Remote.Note)
	for i := range d.Remote.Buttons {
		note("button", &d.Remote.Buttons[i].Note)
	}
	for i := range d.Inputs {
		note("input", &d.Inputs[i].Note)
	}
	for i := range d.Outputs {
		note("output", &d.Outputs[i].Note)
		for j := range d.Outputs[i].Messages {
			note("message", &d.Outputs[i].Messages[j].Note)
		}
	}
	for i := range d.Tracks {
		note("track", &d.Tracks[i].Note)
	}
	for i := range d.Routines {
		note("routine", &d.Routines[i].Note)
		for j := range d.Routines[i].Cues {
			note("cue", &d.Routines[i].Cues[j].Note)
		}
	}
	for i := range d.States {
		note("state", &d.States[i].Note)
	}
	for i := range d.Transitions {
		note("transition", &d.Transitions[i].Note)
	}
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	var all []byte
	for _, f := range files {
		all = append(all, f.Text...)
	}
	for _, n := range notes {
		assert.Contains(t, string(all), n)
	}
}

// What the firmware cannot count is refused with its place, never cut off.
func TestLimits(t *testing.T) {
	var b strings.Builder
	head, _, _ := strings.Cut(string(several(t, 0)[0].Format()), "[[state]]")
	b.WriteString(head)
	for i := range 300 {
		kind := "ambient"
		if i == 0 {
			kind = "dormant"
		}
		fmt.Fprintf(&b, "[[state]]\nname = \"s%d\"\nkind = %q\n", i, kind)
	}
	d, err := model.Read("many.prop.toml", []byte(b.String()))
	require.NoError(t, err)
	_, err = sketch.Files(check.NewStudy(d))
	var faults model.Faults
	require.ErrorAs(t, err, &faults)
	require.Len(t, faults, 1)
	assert.Equal(t, d.States[250].Pos, faults[0].Pos)
	assert.Contains(t, faults[0].Error(), "at most 250 states; the design has 300")
}

// BenchmarkHeronSize prints what the demo takes of the chip without link-time
// optimisation. A sketch by hand with the three usual libraries, no state machine
// and no limits takes 8,106 bytes of flash and 543 of SRAM so.
func BenchmarkHeronSize(b *testing.B) {
	tc, err := avr.Find()
	require.NoError(b, err)
	for range b.N {
		elf, err := tc.Build(context.Background(), write(b, several(b, 0)[0]), b.TempDir(), "atmega328p")
		require.NoError(b, err)
		flash, sram, err := avr.Size(elf)
		require.NoError(b, err)
		b.ReportMetric(float64(flash), "flash-bytes")
		b.ReportMetric(float64(sram), "sram-bytes")
	}
}

// BenchmarkGrowth prints by how much flash the compiled firmware grows with a cue (goal:
// 8 bytes), by a hundred more of a routine of the demo, and with a second of voice that is
// followed (goal: 50 at most), by half a minute more.
func BenchmarkGrowth(b *testing.B) {
	tc, err := avr.Find()
	require.NoError(b, err)
	flash := func(d *model.Design) float64 {
		elf, err := tc.Build(context.Background(), write(b, d), b.TempDir(), d.Prop.Board)
		require.NoError(b, err)
		flash, _, err := avr.Size(elf)
		require.NoError(b, err)
		return float64(flash)
	}
	for range b.N {
		d := several(b, 0)[0]
		r := d.Routine("greet")
		// A track that can be stopped takes three rows of the table: play, sound on, sound off.
		r.Cues = slices.DeleteFunc(r.Cues, func(c model.Cue) bool { return c.Track != "" })
		before := flash(d)
		for i, n := 0, len(r.Cues); i < 100; i++ {
			c := r.Cues[i]
			c.At = r.Cues[i+n-1].At + 50*time.Millisecond
			r.Cues = append(r.Cues, c)
		}
		b.ReportMetric((flash(d)-before)/100, "B/cue")

		d = odd.Whole(b)["voices"]
		before = flash(d)
		d.Tracks[0].Length = 31 * time.Second
		d.Tracks[0].Loudness += strings.Repeat("0123456789", int(30*time.Second/model.LevelTime)/10)
		b.ReportMetric((flash(d)-before)/30, "B/voice-s")
	}
}

// The demo as Debian's arduino-builder compiles it, which is how the core's
// platform.txt has it: within its budget, and without a warning from a file of the
// sketch.
func TestHeronByTheReferenceBuilder(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles the core; the whole run does it")
	}
	need(t, "arduino-builder")
	need(t, "arduino-ctags")
	sketch := write(t, several(t, 0)[0])
	inos, err := filepath.Glob(filepath.Join(sketch, "*.ino"))
	require.NoError(t, err)
	require.Len(t, inos, 1)
	const ctags = `"/usr/bin/arduino-ctags" -u --language-force=c++ -f - --c++-kinds=svpf --fields=KSTtzns --line-directives "{source_file}"`
	out, err := exec.Command("arduino-builder", "-compile", "-fqbn", "arduino:avr:uno", "-warnings", "all",
		"-hardware", filepath.Dir(filepath.Dir(avr.CoreDir)), "-tools", "/usr/bin", "-build-path", t.TempDir(),
		"-prefs=tools.ctags.pattern="+ctags, "-prefs=tools.ctags.cmd.path=/usr/bin/arduino-ctags",
		"-prefs=runtime.tools.avr-gcc.path=/usr", "-prefs=compiler.cpp.extra_flags=-DDECIMAL_DIG=17", inos[0]).CombinedOutput()
	require.NoError(t, err, "%s", out)
	for line := range strings.Lines(string(out)) {
		if strings.Contains(line, "warning:") {
			assert.True(t, strings.HasPrefix(line, avr.CoreDir), line)
		}
	}
	number := func(form string) int {
		m := regexp.MustCompile(form).FindSubmatch(out)
		require.NotNil(t, m, "%s", out)
		n, err := strconv.Atoi(string(m[1]))
		require.NoError(t, err)
		return n
	}
	flash, sram := number(`Sketch uses (\d+) bytes`), number(`Global variables use (\d+) bytes`)
	t.Logf("flash %d bytes, SRAM %d bytes", flash, sram)
	assert.LessOrEqual(t, flash, 9000)
	assert.LessOrEqual(t, sram, 480)
}
