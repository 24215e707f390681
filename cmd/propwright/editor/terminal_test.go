package editor

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/designs"
)

// A terminal is a real one, kept by tmux, with the built command in it.
type terminal struct {
	t      testing.TB
	socket string
	dir    string
}

var built struct {
	once sync.Once
	file string
	err  error
	text []byte
}

// terminals is how many tests run at a time at least.
const terminals = 8

// command builds the command once.
func command(t testing.TB) string {
	built.once.Do(func() {
		dir, err := os.MkdirTemp("", "propwright-editor")
		if err != nil {
			built.err = err
			return
		}
		built.file = filepath.Join(dir, "propwright")
		built.text, built.err = exec.Command("go", "build", "-ldflags=-s -w", "-o", built.file, "propwright/cmd/propwright").CombinedOutput()
	})
	require.NoError(t, built.err, "%s", built.text)
	return built.file
}

func TestMain(m *testing.M) {
	flag.Parse()
	if runtime.GOMAXPROCS(0) < terminals {
		flag.Set("test.parallel", strconv.Itoa(terminals)) // most tests wait more than they compute
	}
	code := m.Run()
	if built.file != "" {
		os.RemoveAll(filepath.Dir(built.file))
	}
	os.Exit(code)
}

// openTerminal runs the command in a terminal of w × h in a folder; the last
// arguments may be NAME=VALUE, for its environment.
func openTerminal(t testing.TB, w, h int, dir string, args ...string) *terminal {
	t.Helper()
	if testing.Short() {
		t.Skip("a terminal is slow")
	}
	if _, err := exec.LookPath("tmux"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("tmux is missing; testdata/setup installs it")
		}
		t.Skip("tmux is missing; testdata/setup installs it")
	}
	tm := &terminal{t: t, socket: filepath.Join(t.TempDir(), "tmux"), dir: dir}
	// What the command leaves with stays on the screen.
	var env []string
	for len(args) > 0 && strings.Contains(args[len(args)-1], "=") {
		env, args = append(env, args[len(args)-1]), args[:len(args)-1]
	}
	line := fmt.Sprintf("cd %s; %s %s %s; echo left with $?; exec sleep 600", dir, strings.Join(env, " "), command(t), strings.Join(args, " "))
	tm.tmux("-f", "/dev/null", "new-session", "-d", "-x", fmt.Sprint(w), "-y", fmt.Sprint(h), line)
	t.Cleanup(func() { exec.Command("tmux", "-S", tm.socket, "kill-server").Run() })
	return tm
}

func (tm *terminal) tmux(args ...string) string {
	tm.t.Helper()
	out, err := exec.Command("tmux", append([]string{"-S", tm.socket}, args...)...).CombinedOutput()
	require.NoError(tm.t, err, "%s", out)
	return string(out)
}

// keys presses keys by the key table's names; "'text" types a text.
func (tm *terminal) keys(names ...string) *terminal {
	tm.t.Helper()
	special := map[string]string{
		"PgUp": "PPage", "PgDn": "NPage", "Ins": "IC", "Del": "DC", "Backspace": "BSpace", "Esc": "Escape", "Shift-Tab": "BTab",
	}
	var batch []string
	flush := func() {
		if batch != nil {
			tm.tmux(append([]string{"send-keys", "--"}, batch...)...)
			batch = nil
		}
	}
	for _, name := range names {
		if text, ok := strings.CutPrefix(name, "'"); ok {
			flush()
			tm.tmux("send-keys", "-l", "--", text)
			continue
		}
		name = strings.NewReplacer("Ctrl-", "C-", "Alt-", "M-", "Shift-", "S-").Replace(name)
		if strings.HasPrefix(name, "C-") {
			name = strings.ToLower(name)
			name = "C-" + name[2:]
		}
		if n, ok := special[name]; ok {
			name = n
		}
		if batch = append(batch, name); name == "Escape" || len(batch) > 50 {
			flush()
			time.Sleep(300 * time.Millisecond) // else it would be Alt with what follows, also on a busy computer
		}
	}
	flush()
	return tm
}

// screen is the terminal's text.
func (tm *terminal) screen() string {
	tm.t.Helper()
	return tm.tmux("capture-pane", "-p")
}

// sees waits until the screen shows a text.
func (tm *terminal) sees(texts ...string) *terminal {
	tm.t.Helper()
	for _, text := range texts {
		pause := 10 * time.Millisecond
		for end := time.Now().Add(waitFor); !strings.Contains(tm.screen(), text); pause = min(2*pause, 40*time.Millisecond) {
			if time.Now().After(end) {
				tm.t.Fatalf("%q is not on the screen:\n%s", text, tm.screen())
			}
			time.Sleep(pause)
		}
	}
	return tm
}

// Ctrl-C is a key like any other in a real terminal too: with changes it asks.
func TestCtrlCInATerminal(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "heron.prop.toml"), designs.HarbourHeron, 0o644))
	tm := openTerminal(t, 80, 24, dir, "heron.prop.toml").sees("no errors")
	tm.keys("Down", "Down", "'.").sees("not saved").keys("Space", "Enter", "Ctrl-C").sees("leave?")
	tm.keys("Esc", "Esc", "Esc", "Ctrl-C").sees("leave?").keys("Esc", "Ctrl-Z").sees("taken back").keys("Ctrl-C").sees("left with 0")
}

// The editor draws and answers on terminals of few means, also on one that this
// computer knows nothing of but its kin. It never waits as a description asks:
// tcell sleeps where there is a PadChar.
func TestTerminals(t *testing.T) {
	t.Parallel()
	for _, term := range []string{"xterm-16color", "screen", "vt100", "linux", "xterm-of-tomorrow"} {
		t.Run(term, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			require.NoError(t, os.WriteFile(filepath.Join(dir, "heron.prop.toml"), designs.HarbourHeron, 0o644))
			if ti, err := terminalOf(term); assert.NoError(t, err) {
				assert.Empty(t, ti.PadChar)
			}
			tm := openTerminal(t, 80, 24, dir, "heron.prop.toml", "TERM="+term)
			tm.sees("no errors")
			tm.keys("F3").sees("[remote]", "■ stop").keys("F2").sees("[matrix]").keys("Down", "Down").sees("watch, press sleep")
			tm.keys("Ctrl-Q").sees("left with 0")
		})
	}
	openTerminal(t, 120, 24, t.TempDir(), "heron.prop.toml", "TERM=dumb").sees(`the editor cannot draw on the terminal that TERM names, "dumb"`, "TERM=xterm", "left with 2")
}
