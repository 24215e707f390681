package editor

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/store"
	"propwright/model"
	"propwright/model/designs"
)

// A second editor on a file would take the first one's journal for a crash's:
// it does not open.
func TestSecondEditorDoesNotOpen(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := filepath.Join(dir, "heron.prop.toml")
	require.NoError(t, os.WriteFile(file, designs.HarbourHeron, 0o644))
	first := openTerminal(t, 80, 24, dir, "heron.prop.toml").sees("no errors").keys("Down", "Down", "'.").sees("not saved")
	openTerminal(t, 100, 24, dir, "heron.prop.toml").sees("heron.prop.toml is open in another editor", "left with 2")
	openTerminal(t, 100, 24, dir).sees("open heron.prop.toml").keys("'open", "Enter").sees("is open in another editor")
	first.keys("Ctrl-S").sees("is saved").keys("Ctrl-Q").sees("left with 0")
	openTerminal(t, 80, 24, dir, "heron.prop.toml").sees("~ watch").keys("Ctrl-Q").sees("left with 0")
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, left, 1, "nothing but the design stays")
}

// A design that was never saved is not written over by a new one of its name.
func TestNewDesignBuriesNoLostOne(t *testing.T) {
	s := emptyScene(t, "")
	text := designs.HarbourHeron
	d, err := model.Read("bird.prop.toml", text)
	require.NoError(t, err)
	k, err := newDesk(d, "bird.prop.toml")
	require.NoError(t, err)
	require.Eventually(t, func() bool { return len(lostDesigns()) == 1 }, waitFor, tick)
	k.lock.Release() // the process has died
	s.keys("Enter", "'bird", "Enter").sees("there is a bird.prop.toml that was never saved", "1 of 6")
	lost, err := store.Recover("bird.prop.toml")
	require.NoError(t, err)
	assert.Equal(t, string(d.Format()), string(lost.Design.Format()))
	require.NoError(t, k.close())
}

// A file that another hand takes away is told, and not left behind unasked.
func TestFileThatIsGone(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).checked()
	require.NoError(t, os.Remove(s.file()))
	s.do(s.e.desk.look)
	s.sees("THE FILE IS GONE: Ctrl-S writes it").keys("Ctrl-Q").sees("leave?", "what is on the screen is in no file").keys("Esc")
	s.keys("Ctrl-S").sees("is saved", "✗GONE")
	_, err := os.Stat(s.file())
	require.NoError(t, err)
}

// Saving under another name takes the lock along.
func TestSaveAsLocksTheOtherFile(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("Ctrl-W", "Ctrl-U", "'"+filepath.Join(t.TempDir(), "other"), "Enter").sees("is saved")
	free, err := store.Acquire(s.file())
	require.NoError(t, err)
	free.Release()
	_, err = store.Acquire(s.e.desk.file.Name())
	require.ErrorContains(t, err, "is open in another editor")
}

// A file that another hand has broken is not taken, and why is said.
func TestBrokenFileOnDiskIsNotTaken(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	was := string(s.design().Format())
	require.NoError(t, os.WriteFile(s.file(), []byte("format = 1\n[prop\n"), 0o644))
	s.keys("Ctrl-S", "Enter").sees("expected ']'", "do nothing")
	assert.Equal(t, was, string(s.design().Format()))
	s.keys("Down", "Down", "Enter").sees("is saved")
	text, err := os.ReadFile(s.file())
	require.NoError(t, err)
	assert.Equal(t, was, string(text))
}
