package harness

import (
	"bytes"
	"cmp"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
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
// C as a library of its own, compiled for each mutant.
type laboratory struct {
	dir     string // of the sketch
	files   map[string]string
	objects map[string][]byte // of the sound sketch
}

func newLaboratory(t testing.TB, dir string) *laboratory {
	needCompiler(t)
	lab := &laboratory{dir: dir, files: map[string]string{}, objects: map[string][]byte{}}
	for _, unit := range units {
		require.NoError(t, lab.compile(lab.dir, unit))
		text, err := os.ReadFile(filepath.Join(dir, Folder, unit+".o"))
		require.NoError(t, err)
		lab.objects[unit] = text
	}
	require.NoError(t, lab.link(lab.dir))
	for _, unit := range units {
		path := filepath.Join(dir, Folder, unit+".c")
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		lab.files[unit] = string(text)
		require.NoError(t, os.Remove(path))
	}
	cmd := exec.Command("go", "test", "-c", "-o", "harness.test", ".")
	cmd.Dir = filepath.Join(dir, Folder)
	for _, unit := range units { // the go command would link them
		require.NoError(t, os.Remove(filepath.Join(dir, Folder, unit+".o")))
	}
	cmd.Env = append(os.Environ(), "CGO_ENABLED=1", "GOFLAGS=", "GOWORK=off", "CGO_LDFLAGS=-L"+cmd.Dir+" -lfirmware")
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	for unit, text := range lab.files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, Folder, unit+".c"), []byte(text), 0o600))
		require.NoError(t, os.WriteFile(filepath.Join(dir, Folder, unit+".o"), lab.objects[unit], 0o600))
	}
	require.NoError(t, lab.run(lab.dir), "the sound sketch passes")
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

func (lab *laboratory) compile(dir, unit string) error {
	cmd := exec.Command("gcc", "-std=c99", "-O1", "-fPIC", "-c", unit+".c", "-o", unit+".o")
	cmd.Dir = filepath.Join(dir, Folder)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	return nil
}

func (lab *laboratory) link(dir string) error {
	cmd := exec.Command("gcc", "-shared", "-Wl,-Bsymbolic", "-o", "libfirmware.so", units[0]+".o", units[1]+".o")
	cmd.Dir = filepath.Join(dir, Folder)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	return nil
}

// run runs the harness with a folder's firmware. The error is what it says.
func (lab *laboratory) run(dir string) error {
	cmd := exec.Command(filepath.Join(lab.dir, Folder, "harness.test"), "-test.failfast", "-test.timeout", "60s",
		"-test.skip", "FirmwareIsTheOneBuilt|CanBeReached|CanAlwaysBeReached", "-events", "2000")
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
	equivalent      // the compiler makes the same of it
)

// try runs the harness on a mutant.
func (lab *laboratory) try(t testing.TB, m *mutant) fate {
	dir := t.TempDir()
	defer os.RemoveAll(dir)
	require.NoError(t, os.Mkdir(filepath.Join(dir, Folder), 0o700))
	for _, pattern := range []string{"*.[chi]*", Folder + "/*.[cho]"} {
		paths, err := filepath.Glob(filepath.Join(lab.dir, pattern))
		require.NoError(t, err)
		for _, path := range paths {
			to := strings.Replace(path, lab.dir, dir, 1)
			require.NoError(t, os.Link(path, to))
			if path == filepath.Join(lab.dir, m.file) {
				require.NoError(t, os.Remove(to)) // to be written
			}
		}
	}
	require.NoError(t, os.Remove(filepath.Join(dir, Folder, unitOf(m.file)+".o")))
	require.NoError(t, os.WriteFile(filepath.Join(dir, m.file), []byte(m.text), 0o600))
	unit := unitOf(m.file)
	if lab.compile(dir, unit) != nil {
		return stillborn
	}
	object, err := os.ReadFile(filepath.Join(dir, Folder, unit+".o"))
	require.NoError(t, err)
	if bytes.Equal(object, lab.objects[unit]) {
		return equivalent
	}
	if lab.link(dir) != nil {
		return stillborn
	}
	if lab.run(dir) != nil {
		return killed
	}
	return survived
}

// argued are mutants that do what the sketch does, by the line with what is changed
// between angle quotes.
var argued = []struct {
	file, line, why string
}{
	{"tables.c", `PW_IGNORE, «`, "where what is ignored would lead is not read"},
	{"tables.c", `\{PW_(DORMANT|AMBIENT|PERFORMING), 0, «\d+»`, "the first of no timers is not read"},
	{"tables.c", `\{PW_\w+, \d+, \d+, \w+, «\d+», 0,`, "the first cue of no pose is not read"},
	{"tables.c", `«\d+», 0\}, /\*`, "the first of no drifts is not read"},
	{"tables.c", `PW_SOLID, \{[^}]*\}, .*«`, "a solid light has neither a second colour nor a period"},
	{"tables.c", `PW_CUE_END, .*«`, "the end of a routine asks for nothing"},
	{"tables.c", `PW_CUE_(SMOOTH|LINEAR|IN|OUT), \d+, \d+, 0\}.*»`, "a move without a time has no shape"},
	{"ir.c", `line_high = «true»`, "the first edge follows silence, which makes the level known; before it strips wait for 12 ms at most"},
	{"player.c", `\(int32_t\)m->to \* «256»`, "the plan is not read once the move's time is up"},
	{"player.c", `before\[«3»\]`, "room for one more"},
	{"player.c", `if \(wait «>» 0U\)`, "a cue with no wait left has been played"},
	{"player.c", `«    next_cue = PW_NO_CUE;»`, "the start state is entered before the first millisecond"},
	{"player.c", `behind >= «0x8000U»`, "no strip is as long"},
}

// why is the argument for a mutant that survives, or "".
func (m *mutant) why() string {
	for _, a := range argued {
		if a.file == m.file && regexp.MustCompile(a.line).MatchString(m.marked) {
			return a.why
		}
	}
	return ""
}

// TestMutants changes one thing at a time in the sketch's files. The harness has to
// see it, unless it is argued that there is nothing to see. MUTANTS tries so many of
// each file; a run of all of them takes hours.
func TestMutants(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	dir := write(t, demo(t), nil)
	lab := newLaboratory(t, dir)
	most, _ := strconv.Atoi(cmp.Or(os.Getenv("MUTANTS"), "4")) // of each file
	for _, file := range []string{"tables.c", "machine.c", "player.c", "ir.c", "harbour_heron.ino"} {
		text, err := os.ReadFile(filepath.Join(dir, file))
		require.NoError(t, err)
		all := mutants(file, string(text))
		var count [4]int
		for i := range min(most, len(all)) {
			m := &all[i*len(all)/min(most, len(all))]
			f := lab.try(t, m)
			if f == survived && m.why() != "" {
				f = equivalent
			}
			if count[f]++; f == survived {
				t.Errorf("%s: the harness does not see %s", m, m.marked)
			}
		}
		t.Logf("%s: %d of %d mutants tried: %d killed, %d survived, %d equivalent, %d not C", file, min(most, len(all)), len(all),
			count[killed], count[survived], count[equivalent], count[stillborn])
	}
}
