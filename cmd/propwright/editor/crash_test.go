package editor

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/store"
	"propwright/model/designs"
)

// The editor is killed; the next start offers what was not saved.
func TestKilledInATerminal(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := filepath.Join(dir, "heron.prop.toml")
	require.NoError(t, os.WriteFile(file, designs.HarbourHeron, 0o644))
	tm := openTerminal(t, 80, 24, dir, "edit", "heron.prop.toml")
	tm.sees("no errors").keys("Right", "Right", "Right", "Right", "'wade", "Enter").sees("roost, press one: to wade")
	time.Sleep(time.Second) // no more than the last second may be lost
	tm.signal("KILL")
	tm.sees("left with 137")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(designs.HarbourHeron), string(text), "the file is as it was")

	again := openTerminal(t, 160, 50, dir, "heron.prop.toml")
	again.sees("bring back what was not saved?").keys("Enter").sees("not saved", "roost, press sleep")
	again.keys("Right", "Right", "Right", "Right").sees("roost, press one: to wade")
	again.keys("Ctrl-S").sees("is saved").keys("Ctrl-Q").sees("left with 0")
	_, err = os.Stat(store.JournalName(file))
	assert.ErrorIs(t, err, os.ErrNotExist, "nothing is left to offer")
}

// signal sends a signal to the editor.
func (tm *terminal) signal(name string) {
	tm.t.Helper()
	pid := strings.TrimSpace(tm.tmux("display-message", "-p", "#{pane_pid}"))
	children, err := os.ReadFile("/proc/" + pid + "/task/" + pid + "/children")
	require.NoError(tm.t, err)
	fields := strings.Fields(string(children))
	require.NotEmpty(tm.t, fields)
	require.NoError(tm.t, exec.Command("kill", "-"+name, fields[len(fields)-1]).Run())
}

// Another program ends the editor: the terminal is as it was, what is typed next
// shows, and what was edited a moment ago is offered by the next start.
func TestEndedInATerminal(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"TERM", "INT", "HUP"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			require.NoError(t, os.WriteFile(filepath.Join(dir, "heron.prop.toml"), designs.HarbourHeron, 0o644))
			tm := openTerminal(t, 80, 24, dir, "heron.prop.toml").sees("no errors")
			tm.keys("Right", "Right", "Right", "Right", "'wade", "Enter").sees("roost, press one: to wade")
			tm.signal(name)
			tm.sees("the editor was ended by another program", "left with 2")
			assert.NotContains(t, tm.screen(), "[matrix]", "the screen from before the start is back")
			tty := strings.TrimSpace(tm.tmux("display-message", "-p", "#{pane_tty}"))
			modes, err := exec.Command("stty", "-F", tty, "-a").CombinedOutput()
			require.NoError(t, err, "%s", modes)
			assert.Contains(t, string(modes), " icanon")
			assert.Contains(t, string(modes), " echo ")
			openTerminal(t, 80, 24, dir, "heron.prop.toml").sees("bring back what was not saved?").keys("Enter").sees("not saved")
		})
	}
}

// A journal that a failing computer has damaged is kept, and told.
func TestDamagedJournalIsKept(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := filepath.Join(dir, "heron.prop.toml")
	require.NoError(t, os.WriteFile(file, designs.HarbourHeron, 0o644))
	require.NoError(t, os.WriteFile(store.JournalName(file), []byte("half of it"), 0o644))
	tm := openTerminal(t, 80, 24, dir, "heron.prop.toml")
	tm.sees("edits that cannot be brought back", "damaged-1").keys("Enter").sees("no errors").keys("Ctrl-Q").sees("left with 0")
	text, err := os.ReadFile(store.JournalName(file) + ".damaged-1")
	require.NoError(t, err)
	assert.Equal(t, "half of it", string(text))
}

// With NO_COLOR the terminal is sent no colour, and without it some.
func TestNoColorInATerminal(t *testing.T) {
	t.Parallel()
	coloured := func(env string) bool {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "heron.prop.toml"), designs.HarbourHeron, 0o644))
		tm := openTerminal(t, 80, 24, dir, "heron.prop.toml", "NO_COLOR="+env)
		tm.sees("no errors")
		styled := tm.tmux("capture-pane", "-p", "-e")
		tm.keys("F8", "2", "4").sees("greeting")
		styled += tm.tmux("capture-pane", "-p", "-e")
		tm.keys("Ctrl-Q").sees("left with 0")
		// The colours' codes: 30 to 37, 38;5;n, 38;2;…, 40 to 48, 90 to 97.
		for _, code := range []string{"[3", ";3", "[4", ";4", "[9", ";9"} {
			for _, digit := range "012345678" {
				for _, end := range []string{"m", ";"} {
					if strings.Contains(styled, "\x1b"+code+string(digit)+end) {
						return true
					}
				}
			}
		}
		return false
	}
	assert.True(t, coloured(""))
	assert.False(t, coloured("1"))
}

// A terminal that changes its size while the editor runs is drawn anew.
func TestResizeInATerminal(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "heron.prop.toml"), designs.HarbourHeron, 0o644))
	tm := openTerminal(t, 80, 24, dir, "heron.prop.toml").sees("no errors")
	tm.tmux("resize-window", "-x", "160", "-y", "50")
	tm.sees("┌─ state roost")
	tm.tmux("resize-window", "-x", "60", "-y", "16")
	tm.sees("roost, press sleep")
	assert.NotContains(t, tm.screen(), "┌─ state roost")
}
