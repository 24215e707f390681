package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/presses"
	"propwright/cmd/propwright/store"
	"propwright/model"
	"propwright/model/designs"
	"propwright/model/edit"
	"propwright/model/ir"
)

// remoteDesign is a design whose four buttons send the codes.
func remoteDesign(t testing.TB, codes []ir.Code) *model.Design {
	var b strings.Builder
	b.WriteString("format = 1\n[prop]\nname = \"gull\"\nboard = \"atmega328p\"\nrest_within = \"1s\"\n[remote]\npin = 2\nstop = \"b0\"\n")
	for i, c := range codes {
		fmt.Fprintf(&b, "[[remote.button]]\nname = \"b%d\"\ncode = %q\n", i, c)
	}
	b.WriteString("[[state]]\nname = \"roost\"\nkind = \"dormant\"\n")
	d, err := model.Read("gull.prop.toml", []byte(b.String()))
	require.NoError(t, err)
	return d
}

// Every keymap of ir-keytable that gives a code gives it to a design, or says
// which of its own keys are the same.
func TestLearnFromEveryKeymap(t *testing.T) {
	maps, err := filepath.Glob("/lib/udev/rc_keymaps/*.toml")
	require.NoError(t, err)
	if len(maps) == 0 {
		if os.Getenv("CI") == "true" {
			t.Fatal("no keymaps in /lib/udev/rc_keymaps")
		}
		t.Skip("no keymaps in /lib/udev/rc_keymaps; install the package ir-keytable")
	}
	taken, refused := 0, 0
	if testing.Short() {
		maps = maps[:10]
	}
	for _, m := range maps {
		file := filepath.Join(t.TempDir(), "gull.prop.toml")
		require.NoError(t, remoteDesign(t, []ir.Code{{Protocol: "sirc20", Address: 0x1fff, Command: 0x7f}}).Save(file))
		var out, errs bytes.Buffer
		switch code := run([]string{"learn", file, "--keymap", m}, &out, &errs); code {
		case 0:
			d, err := model.Load(file)
			require.NoError(t, err)
			assert.Greater(t, len(d.Remote.Buttons), 1, m)
			taken++
		default:
			assert.Equal(t, exitCall, code)
			assert.Contains(t, errs.String(), "no code of this keymap can be taken over", m)
			assert.Contains(t, out.String(), "Not taken over: ", m)
			refused++
		}
	}
	assert.Equal(t, len(maps), taken+refused)
	t.Logf("%d keymaps taken over, %d refused with a reason", taken, refused)
}

// Names are asked for where the call gives none; a name that is none is asked
// for again.
func TestLearnAsksForNames(t *testing.T) {
	dir := t.TempDir()
	file, times := filepath.Join(dir, "gull.prop.toml"), filepath.Join(dir, "times")
	require.NoError(t, remoteDesign(t, []ir.Code{{Protocol: "nec", Address: 1, Command: 1}}).Save(file))
	writeTimes(t, times, []ir.Code{{Protocol: "nec", Address: 4, Command: 0x18}, {Protocol: "nec", Address: 4, Command: 0x19}})

	root := rootCommand()
	var out bytes.Buffer
	root.SetArgs([]string{"learn", file, "--from", times})
	root.SetIn(strings.NewReader("Two Words\nb0\nwave\n\n"))
	root.SetOut(&out)
	require.NoError(t, root.Execute(), out.String())
	assert.Contains(t, out.String(), `"Two Words" is not a name for a button`)
	d, err := model.Load(file)
	require.NoError(t, err)
	require.Len(t, d.Remote.Buttons, 2)
	assert.Equal(t, "nec:0x04:0x18", d.Remote.Buttons[0].Code)
	assert.Equal(t, "wave", d.Remote.Buttons[1].Name)
	assert.Equal(t, "nec:0x04:0x19", d.Remote.Buttons[1].Code)
}

// What no scanner takes as a line is told, and what was learned before is kept.
func TestLearnToldALineWithoutEnd(t *testing.T) {
	dir := t.TempDir()
	file, times := filepath.Join(dir, "gull.prop.toml"), filepath.Join(dir, "times")
	require.NoError(t, remoteDesign(t, []ir.Code{{Protocol: "nec", Address: 1, Command: 1}}).Save(file))
	writeTimes(t, times, []ir.Code{{Protocol: "nec", Address: 4, Command: 0x18}, {Protocol: "nec", Address: 4, Command: 0x19}})

	root := rootCommand()
	root.SetArgs([]string{"learn", file, "--from", times})
	root.SetIn(strings.NewReader("b0\n" + strings.Repeat("x", 1<<20)))
	root.SetOut(io.Discard)
	require.ErrorContains(t, root.Execute(), "far longer than a name")
	d, err := model.Load(file)
	require.NoError(t, err)
	assert.Equal(t, "nec:0x04:0x18", d.Remote.Buttons[0].Code)
}

// A meanwhile is a user whose answers have something happen before them.
type meanwhile struct {
	answers []string
	before  func(n int) // the n-th answer is read
	asked   int
}

func (m *meanwhile) Read(p []byte) (int, error) {
	if len(m.answers) == 0 {
		return 0, io.EOF
	}
	m.before(m.asked)
	m.asked++
	n := copy(p, m.answers[0])
	m.answers = m.answers[1:]
	return n, nil
}

// Learning takes minutes. What another program saves in between is kept, and a
// file that is taken away is not written again.
func TestLearnKeepsWhatIsSavedMeanwhile(t *testing.T) {
	dir := t.TempDir()
	file, times := filepath.Join(dir, "gull.prop.toml"), filepath.Join(dir, "times")
	codes := []ir.Code{{Protocol: "nec", Address: 4, Command: 0x18}, {Protocol: "nec", Address: 4, Command: 0x19}, {Protocol: "nec", Address: 4, Command: 0x1a}}
	writeTimes(t, times, codes)
	require.NoError(t, remoteDesign(t, []ir.Code{{Protocol: "nec", Address: 1, Command: 1}}).Save(file))
	root := rootCommand()
	root.SetArgs([]string{"learn", file, "--from", times})
	root.SetOut(io.Discard)
	root.SetIn(&meanwhile{answers: []string{"b0\n", "wave\n", "bow\n"}, before: func(n int) {
		switch n {
		case 1:
			d, err := model.Load(file)
			require.NoError(t, err)
			d.Prop.Note = "written by another hand"
			require.NoError(t, d.Save(file))
		case 2:
			require.NoError(t, os.Rename(file, file+".moved"))
		}
	}})
	var gone *store.GoneError
	require.ErrorAs(t, root.Execute(), &gone)
	require.NoFileExists(t, file)
	d, err := model.Load(file + ".moved")
	require.NoError(t, err)
	assert.Equal(t, "written by another hand", d.Prop.Note)
	require.Len(t, d.Remote.Buttons, 2)
	assert.Equal(t, "nec:0x04:0x18", d.Remote.Buttons[0].Code)
	assert.Equal(t, "nec:0x04:0x19", d.Remote.Buttons[1].Code)
}

// writeTimes writes a file of saved times with one press of each code.
func writeTimes(t *testing.T, file string, codes []ir.Code) {
	t.Helper()
	var b strings.Builder
	for _, c := range codes {
		for i, us := range ir.Encode(c) {
			fmt.Fprintf(&b, "%s %d\n", []string{"pulse", "space"}[i%2], us)
		}
		b.WriteString("space 500000\n")
	}
	require.NoError(t, os.WriteFile(file, []byte(b.String()), 0o644))
}

// A late is a source whose press comes after an hour.
type late struct{}

func (late) Next() (ir.Lesson, error) {
	time.Sleep(time.Hour)
	return ir.Lesson{}, io.EOF
}

// Where no press comes it is said, once, what may be missing.
func TestLearnHearsNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d, err := model.Read("heron.prop.toml", designs.HarbourHeron)
		require.NoError(t, err)
		var out bytes.Buffer
		l := &learning{Session: presses.Session{Draft: edit.New(d)}, out: &out}
		assert.ErrorContains(t, l.ask([]string{"wake"}, late{}), `"wake" was not learned`)
		assert.Equal(t, 1, strings.Count(out.String(), "Nothing is heard yet: the board must run the capture sketch, and have an infrared receiver on pin 2."))
	})
}
