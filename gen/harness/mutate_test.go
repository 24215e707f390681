package harness

import (
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"propwright/gen/sketch"
	"propwright/model"
)

// A mutant is one of a sketch's files with one thing changed.
type mutant struct {
	file, text string
	line       int
	was, is    string
	marked     string // the line, what is changed between angle quotes
}

func (m *mutant) String() string {
	return fmt.Sprintf("%s:%d: %s for %s", m.file, m.line, m.is, m.was)
}

// swaps are what a token of C may be taken for.
var swaps = map[string][]string{
	"<": {"<=", ">="}, "<=": {"<", ">"}, ">": {">=", "<="}, ">=": {">", "<"}, "==": {"!="}, "!=": {"=="},
	"&&": {"||"}, "||": {"&&"}, "+": {"-"}, "-": {"+"}, "*": {"/"}, "/": {"*"}, "%": {"*"},
	"<<": {">>"}, ">>": {"<<"}, "&": {"|"}, "|": {"&"}, "^": {"|"}, "++": {"--"}, "--": {"++"},
	"+=": {"-="}, "-=": {"+="}, "^=": {"|="}, "|=": {"&="}, ">>=": {"<<="},
	"true": {"false"}, "false": {"true"}, "break": {"continue"},
}

var (
	ctoken   = regexp.MustCompile(`(?s)/\*.*?\*/|//[^\n]*|"[^"\n]*"|#[^\n]*|[A-Za-z_]\w*|0[xX][0-9A-Fa-f]+[UL]*|\d+[UL]*|<<=|>>=|[-+*/%&|^<>=!]=|&&|\|\||<<|>>|\+\+|--|->|[-+*/%&|^<>=!~?:;,.(){}\[\]]`)
	cnumber  = regexp.MustCompile(`^(0[xX][0-9A-Fa-f]+|\d+)([UL]*)$`)
	cname    = regexp.MustCompile(`^PW_(STATE|EVENT|CUE|WAVE)_\w+$`)
	cfamily  = regexp.MustCompile(`^PW_(GO|DEFER|IGNORE|DORMANT|AMBIENT|PERFORMING|DARK|SOLID|FADE|BREATHE|CHASE|FLICKER|BACK|NOWHERE|NEVER|NO_CUE)$`)
	crow     = regexp.MustCompile(`^    \{?[-\w{].*,( /\*.*)?$`)
	csimple  = regexp.MustCompile(`^ +[^#/*{}\s][^{}]*;( /\*.*\*/)?$`)
	cdeclare = regexp.MustCompile(`^ +(const |static |extern |volatile )*(u?int\w*|bool|void|pw_\w+|move|place|layer|pulse)\b \*?\w+`)
	ccond    = regexp.MustCompile(`^( *(?:\} else )?(?:if|while) )\((.*)\) \{( /\*.*\*/)?$`)
)

// mutants are all of a file's, in the order of its text.
func mutants(file, text string) []mutant {
	var all []mutant
	add := func(from, to int, is string) {
		begin := strings.LastIndex(text[:from], "\n") + 1
		rest, _, _ := strings.Cut(text[to:], "\n")
		all = append(all, mutant{
			file: file, text: text[:from] + is + text[to:], line: 1 + strings.Count(text[:from], "\n"),
			was: text[from:to], is: is, marked: text[begin:from] + "«" + text[from:to] + "»" + rest,
		})
	}
	names := map[string][]string{} // constants of a kind
	kindOf := func(token string) string {
		if m := cname.FindStringSubmatch(token); m != nil {
			return m[1]
		}
		if cfamily.MatchString(token) {
			return "other"
		}
		return ""
	}
	tokens := ctoken.FindAllStringIndex(text, -1)
	for _, at := range tokens {
		if token := text[at[0]:at[1]]; kindOf(token) != "" && !slices.Contains(names[kindOf(token)], token) {
			names[kindOf(token)] = append(names[kindOf(token)], token)
		}
	}
	before := ""
	for _, at := range tokens {
		token := text[at[0]:at[1]]
		switch n := cnumber.FindStringSubmatch(token); {
		case n != nil:
			v, _ := strconv.ParseUint(n[1], 0, 64)
			add(at[0], at[1], fmt.Sprint(v+1)+n[2])
			if v > 0 {
				add(at[0], at[1], fmt.Sprint(v-1)+n[2])
			}
			if v > 1 {
				add(at[0], at[1], "0"+n[2])
			}
		case kindOf(token) != "":
			others := names[kindOf(token)]
			if is := others[(slices.Index(others, token)+1)%len(others)]; is != token {
				add(at[0], at[1], is)
			}
		case strings.Contains("*&-+", token) && (strings.HasSuffix(before, "(") || strings.Contains("=,return{;)", before)):
			// unary, or a pointer's
		default:
			for _, is := range swaps[token] {
				add(at[0], at[1], is)
			}
		}
		if !strings.HasPrefix(token, "/*") && !strings.HasPrefix(token, "//") {
			before = token
		}
	}
	lines := strings.SplitAfter(text, "\n")
	at := 0
	for i, l := range lines {
		bare := strings.TrimSuffix(l, "\n")
		if csimple.MatchString(bare) && !cdeclare.MatchString(bare) && !strings.Contains(bare, "return ") && !strings.HasPrefix(strings.TrimSpace(bare), "PW_") {
			add(at, at+len(bare), ";")
		}
		if m := ccond.FindStringSubmatch(bare); m != nil {
			add(at, at+len(bare), m[1]+"(!("+m[2]+")) {")
		}
		if i+1 < len(lines) && crow.MatchString(bare) && crow.MatchString(strings.TrimSuffix(lines[i+1], "\n")) && bare+"\n" != lines[i+1] {
			add(at, at+len(l)+len(lines[i+1]), lines[i+1]+l)
		}
		at += len(l)
	}
	return all
}

// A laboratory is a design's harness, compiled once, that runs with the firmware's
// C as a library of its own, made anew for each mutant.
type laboratory struct {
	dir     string            // of the sketch
	objects map[string][]byte // of the sound sketch, by harness file
}

// newLaboratory compiles the harness of the sketch in dir. tcc makes the library: it
// takes a tenth of the time that gcc takes.
func newLaboratory(t testing.TB, dir string) *laboratory {
	need(t, "gcc", "tcc")
	lab := &laboratory{dir: dir, objects: map[string][]byte{}}
	require.NoError(t, lab.link(dir))
	for _, unit := range units {
		var err error
		lab.objects[unit], err = lab.optimized(dir, unit)
		require.NoError(t, err)
		// The go command would compile it into the test.
		path := filepath.Join(dir, Folder, unit+".c")
		require.NoError(t, os.Rename(path, path+".away"))
	}
	cmd := exec.Command("go", "test", "-c", "-o", "harness.test", ".")
	cmd.Dir = filepath.Join(dir, Folder)
	cmd.Env = append(os.Environ(), "CGO_ENABLED=1", "GOFLAGS=", "GOWORK=off", "CGO_LDFLAGS=-L"+cmd.Dir+" -lfirmware")
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	for _, unit := range units {
		path := filepath.Join(dir, Folder, unit+".c")
		require.NoError(t, os.Rename(path+".away", path))
	}
	require.NoError(t, lab.run(dir), "the sound sketch passes")
	return lab
}

// units are the harness's C files; unitOf says which of them a sketch's file is in.
var units = []string{"firmware", "board"}

func unitOf(file string) string {
	if file == "player.c" || strings.HasSuffix(file, ".ino") {
		return "board"
	}
	return "firmware"
}

// optimized is a unit's object file. Where a mutant's is that of the sound sketch,
// both do the same.
func (lab *laboratory) optimized(dir, unit string) ([]byte, error) {
	cmd := exec.Command("gcc", "-std=c99", "-O2", "-c", unit+".c", "-o", unit+".o")
	cmd.Dir = filepath.Join(dir, Folder)
	if out, err := cmd.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("%w: %s", err, out)
	}
	defer os.Remove(filepath.Join(cmd.Dir, unit+".o")) // the go command would link it
	return os.ReadFile(filepath.Join(cmd.Dir, unit+".o"))
}

// link makes the library of a folder's firmware.
func (lab *laboratory) link(dir string) error {
	cmd := exec.Command("tcc", "-w", "-shared", "-o", "libfirmware.so", units[0]+".c", units[1]+".c")
	cmd.Dir = filepath.Join(dir, Folder)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	return nil
}

// run runs the harness with a folder's firmware. The error is what it says. A mutant
// that never comes to an end is stopped after 10 s of processor time, however busy the
// computer is; the sound sketch takes less than one.
func (lab *laboratory) run(dir string, args ...string) error {
	cmd := exec.Command("sh", "-c", `ulimit -t 10; exec "$0" "$@"`, filepath.Join(lab.dir, Folder, "harness.test"), "-test.failfast",
		"-test.skip", "FirmwareIsTheOneBuilt|CanBeReached|CanAlwaysBeReached", "-events", "2000")
	cmd.Args = append(cmd.Args, args...)
	cmd.Dir = filepath.Join(lab.dir, Folder)
	cmd.Env = append(os.Environ(), "LD_LIBRARY_PATH="+filepath.Join(dir, Folder))
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	return nil
}

type fate int

const (
	killed     fate = iota
	survived        // the harness sees no difference
	stillborn       // the compiler takes it for faulty
	equivalent      // it does what the sketch does
)

// spoilt makes a folder of the sketch and the harness's C in which one file has another
// text. It is the caller's to remove.
func (lab *laboratory) spoilt(file, text string) (dir string, err error) {
	if dir, err = os.MkdirTemp("", "mutant"); err != nil {
		return "", err
	}
	if err := os.Mkdir(filepath.Join(dir, Folder), 0o700); err != nil {
		return dir, err
	}
	for _, pattern := range []string{"*.[chi]*", Folder + "/*.[ch]"} {
		paths, err := filepath.Glob(filepath.Join(lab.dir, pattern))
		if err != nil {
			return dir, err
		}
		for _, path := range paths {
			name, err := filepath.Rel(lab.dir, path)
			if err != nil {
				return dir, err
			}
			if name == file {
				err = os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600)
			} else {
				err = os.Symlink(path, filepath.Join(dir, name))
			}
			if err != nil {
				return dir, err
			}
		}
	}
	return dir, nil
}

// try runs the harness on a mutant.
func (lab *laboratory) try(m *mutant) (fate, error) {
	dir, err := lab.spoilt(m.file, m.text)
	defer os.RemoveAll(dir)
	if err != nil {
		return 0, err
	}
	if lab.link(dir) != nil {
		return stillborn, nil
	}
	if lab.run(dir) != nil {
		return killed, nil
	}
	unit := unitOf(m.file)
	if object, err := lab.optimized(dir, unit); err != nil {
		return stillborn, nil
	} else if bytes.Equal(object, lab.objects[unit]) || m.why(filepath.Base(lab.dir)) != "" {
		return equivalent, nil
	}
	return survived, nil
}

// argued are mutants that do what the sketch does, by the line with what is changed
// between angle quotes; where a design is named, in its sketch.
var argued = []struct {
	design, file, line, why string
}{
	{"", "tables.c", `PW_IGNORE, «`, "where what is ignored would lead is not read"},
	{"", "tables.c", `PW_EVENT_.*, PW_(IGNORE|GO|DEFER)\b|PW_IGNORE»|^    «\d+», |^    «\d+»,$`,
		"TestEveryPair and TestDone read the whole matrix: what they do not see is never read, or the same"},
	{"", "tables.c", `\{«PW_\w+», \d+, \d+, (PW_NEVER|\d+UL), `, "the kind is read by TestEveryPair in every state"},
	{"", "tables.c", `\{PW_\w+, \d+, \d+, «PW_NEVER»,`, "nothing waits for the end of what does not play"},
	{"", "tables.c", `\{PW_\w+, 0, «\d+»`, "the first of no timers is not read"},
	{"harbour_heron", "tables.c", `\{PW_\w+, «1», \d+, PW_NEVER,`, "more timers than any state has are not looked at"},
	{"", "tables.c", `\{PW_\w+, \d+, \d+, \w+, «\d+», 0,`, "the first cue of no pose is not read"},
	{"harbour_heron", "tables.c", `\{PW_PERFORMING, 0, 2, \w+, («1[6-8]», 1, |17, «0», 31|1[67], «1», )`, "the cues of these poses are the same; twice is as good as once"},
	{"harbour_heron", "tables.c", `, 16, 1, «19», 3, 0\}, /\* greeting`, "begins with the last cue of the pose, once more"},
	{"", "tables.c", `«\d+», 0\}, /\*`, "the first of no drifts is not read"},
	{"", "tables.c", `PW_SOLID, \{[^}]*\}, .*«`, "a solid light has neither a second colour nor a period"},
	{"", "tables.c", `PW_CUE_END, .*«`, "the end of a routine asks for nothing"},
	{"", "tables.c", `PW_CUE_(SMOOTH|LINEAR|IN|OUT), \d+, \d+, 0\}.*»`, "a move without a time has no shape"},
	{"", "ir.c", `line_high = «true»`, "the first edge follows silence, which makes the level known; before it strips wait for 12 ms at most"},
	{"harbour_heron", "ir.c", `PW_PRESS_EVENTS; i«\+\+»`, "there is one such event"},
	{"", "ir.c", `held «<» PW_LONGEST_HOLD`, "no hold is longer than the longest"},
	{"harbour_heron", "ir.c", `button == NO_BUTTON «\|\|» down != button`,
		"with one protocol the button of a repeat is the one that is down, or none is; then only counters change that the next press sets"},
	{"", "ir.c", `i «<» PW_BUTTONS; i\+\+`, "behind the last code there is none that a remote sends"},
	{"", "ir.c", `quiet_ms «<» QUIET_MS`, "no matter how far beyond QUIET_MS it counts"},
	{"harbour_heron", "ir.c", `«        post_press_events\(PW_ON_RELEASE|PW_ON_RELEASE.*»|«PW_ON_RELEASE`, "no event is a button's release"},
	{"harbour_heron", "machine.c", `PW_TIMERS_MOST; i«\+\+»`, "no state has a second timer"},
	{"", "machine.c", `uint8_t i = «1»; i < PW_TIMERS_MOST`, "no timer is earlier than itself"},
	{"harbour_heron", "machine.c", `due\[first\] = «?PW_NEVER|here\.length = «?PW_NEVER`, "all timers, and all ends of routines, lead out of the state"},
	{"", "machine.c", `time_here«--»;`, "all timers are spent by then: it only must not be PW_NEVER"},
	{"", "player.c", `width «<» s->lowest|width «>» s->highest`, "on the limit it is the limit either way"},
	{"", "player.c", `late = t >= «0x8000U»`, "no move has so many frames that its middle is a part of 65536 off"},
	{"", "player.c", `return \(int32_t\)m->to .*«`, "the plan is not read once the move's time is up"},
	{"", "player.c", `m->to «>» m->from`, "no way is none, forward and back"},
	{"", "player.c", `while \(way «>=» \(uint16_t\)slower\)`, "a frame more or less to stop in gives the same speed just there"},
	{"", "player.c", `m->plan «>» 256UL|m->plan > «256UL»`, "plans are far below; others are what has been overwritten, which gen/bench does"},
	{"", "player.c", `\(was «>» s\.fastest|«\|\|» was < -s|was «<» -s\.fastest|was = was .*s\.fastest;`,
		"beyond its fastest is only a speed that has been overwritten, which gen/bench does"},
	{"", "player.c", `way «<» 0|way < «0»`, "without a way all that is asked for is speed 0, forward and back"},
	{"", "player.c", `want «[<>]» |speed «[<>]» was [+-] s\.accel`, "on the limit it is the limit either way"},
	{"", "player.c", `before\[«3»\]`, "room for one more"},
	{"", "player.c", `if \(wait «>» 0U\)`, "a cue with no wait left has been played"},
	{"", "player.c", `«    next_cue = PW_NO_CUE;»`, "the start state is entered before the first millisecond"},
	{"", "player.c", `drift_wait\[i\] «>» 0U`, "no drift waits for no frame"},
	{"harbour_heron", "player.c", `part >= whole \? «256U»`, "what has come up whole is not mixed, and the one fade ends in the same colour"},
	{"harbour_heron", "player.c", `first «\|\|»|== PW_DARK «\|\|»|pixel «-» first|memset\(colour, 0, «3»`, "the one light covers the one strip, and the start state lights it"},
	{"", "player.c", `behind «>=» 0x8000U|behind >= «0x8000U»`, "no strip is as long"},
}

// why is the argument for a mutant that survives, or "".
func (m *mutant) why(design string) string {
	for _, a := range argued {
		if a.file == m.file && (a.design == "" || a.design == design) && regexp.MustCompile(a.line).MatchString(m.marked) {
			return a.why
		}
	}
	return ""
}

// score counts the mutants of a file by their fate.
type score [equivalent + 1]int

func (s score) String() string {
	return fmt.Sprintf("%d killed, %d survived, %d equivalent, %d not C", s[killed], s[survived], s[equivalent], s[stillborn])
}

// tryAll runs the harness on mutants and tells of those that it does not see.
func (lab *laboratory) tryAll(t *testing.T, all []mutant) (s score) {
	var lock sync.Mutex
	var workers sync.WaitGroup
	next := make(chan *mutant)
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for m := range next {
				f, err := lab.try(m)
				lock.Lock()
				if err != nil {
					t.Error(err)
				} else if s[f]++; f == survived {
					t.Errorf("%s: the harness does not see %s", m, m.marked)
				}
				lock.Unlock()
			}
		})
	}
	for i := range all {
		next <- &all[i]
	}
	close(next)
	workers.Wait()
	return s
}

// sample is so many of a file's mutants, from all over it.
func sample(t *testing.T, dir, file string, most int) (some []mutant) {
	text, err := os.ReadFile(filepath.Join(dir, file))
	require.NoError(t, err)
	all := mutants(file, string(text))
	n := min(most, len(all))
	for i := range n {
		some = append(some, all[i*len(all)/n])
	}
	return some
}

// TestMutants changes one thing at a time in the files of the demo's sketch. The
// harness has to see it, unless it is argued that there is nothing to see. MUTANTS is
// how many of each file are tried. All of them, with their number by file, are
//
//	MUTANTS=all go test -v -timeout 0 -run TestMutants ./gen/harness
func TestMutants(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	s := mutate(t, demo(t), tried(t, 4))
	for _, file := range slices.Sorted(maps.Keys(s)) {
		t.Logf("%s: %s", file, s[file])
	}
}

// mutate tries so many mutants of each of a design's files.
func mutate(t *testing.T, d *model.Design, most int) map[string]score {
	dir := write(t, d, nil)
	lab := newLaboratory(t, dir)
	scores := map[string]score{}
	for _, file := range []string{"ir.c", "machine.c", sketch.Folder(d) + ".ino", "player.c", "tables.c"} {
		name := file
		if filepath.Ext(file) == ".ino" {
			name = "the .ino"
		}
		scores[name] = lab.tryAll(t, sample(t, dir, file, most))
	}
	return scores
}

// tried is how many mutants of each file are to be tried.
func tried(t *testing.T, usual int) int {
	if os.Getenv("MUTANTS") == "all" {
		return math.MaxInt
	}
	most, err := strconv.Atoi(cmp.Or(os.Getenv("MUTANTS"), strconv.Itoa(usual)))
	require.NoError(t, err, "MUTANTS is a number or all")
	return most
}
