//go:build linux

package main

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"propwright/cmd/propwright/live"
	"propwright/cmd/propwright/pty"
	"propwright/gen"
	"propwright/gen/bench"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/ir"
	"propwright/model/machine"
	"propwright/model/rehearsal"
)

// liveHeron writes the demo with live = true and a seed into the current folder.
func liveHeron(t *testing.T) *model.Design {
	text := strings.Replace(string(designs.HarbourHeron), "board = \"atmega328p\"\n", "board = \"atmega328p\"\nlive = true\n", 1)
	require.NoError(t, os.WriteFile("heron.prop.toml", []byte(text), 0o666))
	d, err := model.Load("heron.prop.toml")
	require.NoError(t, err)
	require.True(t, d.Prop.Live)
	return d
}

// liveCall runs the command at the other end of a line; wait gives what it has
// printed and its error when it has ended.
func liveCall(typed string, args ...string) (wait func() (string, error)) {
	var out bytes.Buffer
	root := rootCommand()
	root.SetArgs(append([]string{"live", "heron.prop.toml"}, args...))
	root.SetIn(strings.NewReader(typed))
	root.SetOut(&out)
	ended := make(chan error, 1)
	go func() { ended <- root.Execute() }()
	return func() (string, error) {
		err := <-ended
		return out.String(), err
	}
}

// The prop on a simulated chip tells, over a pseudo-terminal, what it does: presses
// on its remote, one typed at the keyboard, a stranger's, a restart. What was
// heard plays as a rehearsal.
func TestLive(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Chdir(t.TempDir())
	d := liveHeron(t)
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), sketch.Folder(d))
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
	chip := bench.Start(t, bench.Compile(t, dir, "atmega328p"), bench.Options{Step: 1600})
	chip.SetPin(d.Remote.Pin, bench.High, 0)

	master, slave := pty.Open(t)
	wait := liveCall("two\n", "--port", slave, "--save", "heron.bench.rehearsal.txt")
	pty.AwaitRaw(master)
	fd := int(master.Fd())
	require.NoError(t, unix.SetNonblock(fd, true))
	sent := 0
	runTo := func(ms uint64) {
		for chip.Now() < ms*bench.Millisecond {
			var typed [64]byte
			n, _ := unix.Read(fd, typed[:]) // an error: nothing is there
			for i, b := range typed[:max(n, 0)] {
				chip.Send(b, chip.Now()+1600+uint64(i)*10*bench.Hz/sketch.LiveBaud)
			}
			chip.RunTo(chip.Now() + 5*bench.Millisecond)
			for ; sent < len(chip.UART()); sent++ {
				_, err := master.Write([]byte{chip.UART()[sent].Value})
				require.NoError(t, err)
			}
			time.Sleep(time.Millisecond)
		}
	}
	press := func(code string) {
		c, err := ir.ParseCode(code)
		require.NoError(t, err)
		chip.PlayIR(d.Remote.Pin, ir.Encode(c), chip.Now()+1600)
	}
	runTo(1500) // asleep, it does not heed two
	press(d.Remote.Buttons[0].Code)
	runTo(2500)
	press("nec:0x55:0x66")
	runTo(5000)
	master.Close()
	said, err := wait()
	require.NoError(t, err, said)
	t.Log(said)

	assert.Contains(t, said, "state roost")
	assert.Contains(t, said, "heard press "+d.Remote.Buttons[0].Name)
	assert.Contains(t, said, "heard a stranger: nec:0x55:0x66, which is no button's")
	assert.Contains(t, said, "heard press two")
	assert.Contains(t, said, "the line is closed")
	assert.NotContains(t, said, "lost")
	assert.NotContains(t, said, "did not take")
	assert.NotContains(t, said, "held up") // by no step that was made ahead of its millisecond

	s, err := rehearsal.Load("heron.bench.rehearsal.txt")
	require.NoError(t, err)
	p, misses, err := rehearsal.Run(machine.Compile(d), s)
	require.NoError(t, err)
	assert.Empty(t, misses)
	assert.NotEmpty(t, p.Stops())
}

// Every line that came whole is shown, though a megabyte of noise is among them and
// the line closes in the middle of one.
func TestLiveOnABadLine(t *testing.T) {
	if testing.Short() {
		t.Skip("opens a terminal; the whole run does it")
	}
	t.Chdir(t.TempDir())
	d := liveHeron(t)
	mark := uint32(sketch.LiveMark(machine.Compile(d))) << 16
	master, slave := pty.Open(t)
	wait := liveCall("", "--port", slave)
	pty.AwaitRaw(master)
	noise := make([]byte, 1<<20/16)
	random := rand.NewChaCha8([32]byte{1})
	for i := range 16 {
		random.Read(noise)
		_, err := master.Write(append(noise, live.Told{What: 'B', Which: i % 8, Value: mark, At: time.Duration(i) * time.Second}.String()+"\n"...))
		require.NoError(t, err)
	}
	_, err := master.Write([]byte("$S 0C 00012A"))
	require.NoError(t, err)
	time.Sleep(100 * time.Millisecond) // a terminal that is closed may drop what is in it
	master.Close()
	said, err := wait()
	require.NoError(t, err)
	assert.Contains(t, said, "bytes came that are not the prop's")
	assert.Contains(t, said, "the line is closed")
	for i := range 8 {
		assert.Equal(t, 2, strings.Count(said, "state "+d.States[i].Name+"\n"), d.States[i].Name)
	}
}

func TestLiveRefuses(t *testing.T) {
	t.Chdir(t.TempDir())
	text := string(designs.HarbourHeron)
	for _, c := range []struct{ old, now, want string }{
		{"", "", "write live = true below [prop], then propwright flash heron.prop.toml"},
		{"board = \"atmega328p\"", "board = \"atmega32u4\"\nlive = true", "no serial line on which it could tell"},
		{"board = \"atmega328p\"\n", "board = \"atmega328p\"\nlive = true\n", "the port no-such-port cannot be opened"},
		{"pin = 12", "pin = 0", "live needs the serial line on pins 0 and 1, and output voice-splash is on pin 0"},
		{"pin = 0", "pin = 12", "the port no-such-port cannot be opened"},
	} {
		text = strings.Replace(text, c.old, c.now, 1)
		require.NoError(t, os.WriteFile("heron.prop.toml", []byte(text), 0o666))
		_, err := liveCall("", "--port", "no-such-port")()
		assert.ErrorContains(t, err, c.want)
		text = strings.Replace(text, "atmega32u4\"\nlive = true", "atmega328p\"", 1)
	}
}
