package editor

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/designs"
)

// faultyHeron has a key that there is not, a value that cannot be read and a
// word that stays in the design though it is wrong.
func faultyHeron(t *testing.T) []byte {
	text := string(designs.HarbourHeron)
	for _, r := range [][2]string{
		{"plays = \"greet\"", "plais = \"greet\""},
		{"\npin = 9\n", "\npin = \"nine\"\n"},
		{"kind = \"ambient\"", "kind = \"ambiant\""},
	} {
		require.Contains(t, text, r[0])
		text = strings.Replace(text, r[0], r[1], 1)
	}
	return []byte(text)
}

// What the reader cannot take of a file is told, stays in the findings, and is
// not saved over unasked.
func TestUnreadLinesAreNotLost(t *testing.T) {
	t.Parallel()
	text := faultyHeron(t)
	s := openScene(t, 80, 24, 16, text)
	s.sees("a part of the file cannot be read", `has no key "plais"`, "a whole number is wanted", "✗ambiant").keys("Enter").checked()
	s.sees("? watch", "3 unfinished") // a state of no kind is shown, too
	s.keys("F7").sees("cannot be read: ", "a save leaves the line out", `"ambiant" is not a kind of state`)
	s.keys("Ctrl-S").sees("a save here would lose something", "plais", "» save under another name")
	s.keys("Down", "Down", "Enter")
	onDisk, err := os.ReadFile(s.file())
	require.NoError(t, err)
	assert.Equal(t, string(text), string(onDisk))

	other := filepath.Join(s.dir, "other.prop.toml")
	s.keys("Ctrl-S", "Enter").sees("save as").keys("Ctrl-U", "'"+other, "Enter").sees("is saved")
	onDisk, err = os.ReadFile(s.file())
	require.NoError(t, err)
	assert.Equal(t, string(text), string(onDisk), "the first file keeps everything")
	s.checked().sees("1 unfinished").keys("Ctrl-S").sees("is saved")
}

func TestUnreadLinesAreLeftOutWhenAsked(t *testing.T) {
	t.Parallel()
	s := openScene(t, 80, 24, 16, faultyHeron(t)).keys("Enter", "Ctrl-S", "Down", "Enter").sees("is saved")
	d, err := model.Load(s.file())
	require.Error(t, err)
	assert.Equal(t, string(s.design().Format()), string(d.Format()))
	s.checked().sees("1 unfinished").keys("Ctrl-S").sees("✗lose something")
}

// A whole file on disk takes the place of one with faults, and undo of that
// does not forget what the file says.
func TestUnreadLinesOfAReloadedFile(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	require.NoError(t, os.WriteFile(s.file(), faultyHeron(t), 0o644))
	s.keys("Ctrl-S").sees("has changed on disk", "» take the file from disk").keys("Enter").sees("a part of the file cannot be read").keys("Enter")
	s.keys("Ctrl-Z", "Ctrl-S").sees("a save here would lose something")
}

// A file of another format is not opened as an empty design.
func TestOtherFormatIsNotOpened(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "later.prop.toml")
	require.NoError(t, os.WriteFile(file, []byte("format = 2\n[prop]\nname = \"later\"\n"), 0o644))
	_, err := begin(file)
	require.ErrorContains(t, err, "format 2 is not known")
}

// A rehearsal that a rename leaves behind would stop the next build; the
// findings say so, and where.
func TestRehearsalThatFitsNoMore(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F8", "2", "s", "'waking", "Enter").sees("heron.waking.rehearsal.txt is")
	s.keys("F3", "Down", "Down", "Ctrl-R", "Ctrl-U", "'rise", "Enter").sees("wake is now rise").checked().sees("1 error")
	s.keys("F7").sees("the rehearsal heron.waking.rehearsal.txt does not fit the design any more", `there is no button "wake" in line`, "a build stops at it")
	s.keys("Ctrl-Z").checked().sees("passes every rule")
}
