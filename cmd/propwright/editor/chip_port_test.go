//go:build linux

package editor

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"propwright/cmd/propwright/pty"
	"propwright/gen"
	"propwright/gen/bench"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/ir"
	"propwright/model/machine"
	"propwright/model/rehearsal"
)

// A chipPort is a simulated chip whose UART is at a pseudo-terminal.
type chipPort struct {
	t       testing.TB
	name    string    // the port's
	started time.Time // the chip's clock keeps up with it, if the computer can

	mu    sync.Mutex // of what follows
	chip  *bench.Chip
	line  *os.File
	fd    int  // of the line, -1 once it is closed
	muted bool // what either side says is lost
	sent  int  // how much of what the chip has said is dealt with
}

// newChipPort runs a sketch until the test ends.
func newChipPort(t testing.TB, baud uint64, files []gen.File, folder string, pins ...int) *chipPort {
	t.Helper()
	dir := filepath.Join(t.TempDir(), folder)
	_, err := gen.Write(dir, files)
	require.NoError(t, err)
	c := &chipPort{t: t, chip: bench.Start(t, bench.Compile(t, dir, "atmega328p"), bench.Options{Pins: pins, Step: 1600})}
	c.line, c.name = pty.Open(t)
	c.fd = int(c.line.Fd())
	c.started = time.Now()
	over, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		pty.AwaitRaw(c.line)
		assert.NoError(t, unix.SetNonblock(c.fd, true))
		for ; ; time.Sleep(time.Millisecond) {
			select {
			case <-over:
				return
			default:
				c.relay(bench.Hz * 10 / baud)
			}
		}
	}()
	t.Cleanup(func() { close(over); <-ended })
	return c
}

// relay carries what either side has said to the other. On a busy computer it is seldom
// called: then more time passes for the chip, so that nobody waits for it in vain.
func (c *chipPort) relay(byteTime uint64) {
	c.mu.Lock()
	defer c.mu.Unlock()
	var typed [64]byte
	n, _ := unix.Read(c.fd, typed[:]) // an error: nothing is there
	at := c.chip.Now() + 1600
	for _, b := range typed[:max(n, 0)] {
		if !c.muted {
			c.chip.Send(b, at)
			at += byteTime
		}
	}
	behind := uint64(time.Since(c.started).Milliseconds()) * bench.Millisecond
	c.chip.RunTo(max(at+bench.Millisecond, min(behind, at+20*bench.Millisecond)))
	for ; c.sent < len(c.chip.UART()); c.sent++ {
		if !c.muted {
			c.write([]byte{c.chip.UART()[c.sent].Value})
		}
	}
}

// write has bytes arrive at the editor, unless the line is closed.
func (c *chipPort) write(b []byte) {
	for len(b) > 0 {
		n, err := unix.Write(c.fd, b)
		if b = b[max(n, 0):]; err == unix.EAGAIN {
			time.Sleep(time.Millisecond) // the editor has not read yet
		} else if err != nil {
			return
		}
	}
}

// noise has bytes of it arrive at the editor, and some at the chip.
func (c *chipPort) noise(bytes int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	noise := make([]byte, bytes)
	rand.NewChaCha8([32]byte{1}).Read(noise)
	c.write(noise)
	for i, b := range noise[:100] {
		c.chip.Send(b, c.chip.Now()+1600+uint64(i)*bench.Millisecond)
	}
	c.chip.RunTo(c.chip.Now() + 200*bench.Millisecond)
}

func (c *chipPort) mute(muted bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.muted = muted
}

// breakOff closes the line in the middle of one.
func (c *chipPort) breakOff(half string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.write([]byte(half))
	assert.NoError(c.t, c.line.Close())
	c.fd = -1
}

// A pose is taught on a chip with the trim sketch: noise and a silence lose nothing, a
// line that breaks off is told, and the pose that was there by then becomes cues.
func TestTeachOnTheChip(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	d := s.design()
	files, err := sketch.Trim(d)
	require.NoError(t, err)
	beak := d.Output("beak")
	c := newChipPort(t, 115200, files, sketch.TrimFolder, beak.Pin)
	before := len(d.Routines[0].Cues)
	s.keys("F5", "Right", "End", "e", "'"+c.name, "Enter").awaits("» neck             free")
	c.noise(1 << 20)
	s.keys("Right").stopped().sees("» neck             0deg       in the pose")
	s.keys("Down", "Right").stopped().sees("» beak             0deg       in the pose")
	c.mute(true)
	s.keys(".").sees("moving …")
	c.noise(1 << 14) // an answer is waited for, which is soon given up
	s.sees("moving …")
	c.mute(false)
	s.stopped().sees("» beak             4.4deg     in the pose").keys("Enter").sees("2 cues at ")

	s.keys(".").stopped().sees("» beak             8.8deg     in the pose")
	c.mute(true)
	s.keys("Right").sees("moving …")
	c.breakOff("at 1 13")
	s.stopped().sees("the line to the board on "+c.name+" is gone: look at the cable", "» beak             8.8deg     in the pose")
	s.keys("Enter").sees("1 cue at ").keys("Esc").sees("the servos are free")
	noOverlay(s)

	taught(t, s.design().Routines[0].Cues[before:], 8.8)

	c.mu.Lock()
	defer c.mu.Unlock()
	c.chip.RunTo(c.chip.Now() + 2500*bench.Millisecond)
	var last, widest float64 // of the pulses, in microseconds
	edges := c.chip.Edges(beak.Pin)
	for i := 1; i < len(edges); i++ {
		if !edges[i].High {
			last = float64(edges[i].At-edges[i-1].At) / bench.Microsecond
			widest = max(widest, last)
		}
	}
	assert.InDelta(t, 1300, last, 8)
	assert.InDelta(t, 1300, widest, 8)
	assert.Greater(t, c.chip.Now()-edges[len(edges)-1].At, uint64(400*bench.Millisecond), "the servo is free")
}

// The prop on a chip is listened to: what it does between noise and silences is told and
// shown, and what was heard is saved and plays as a rehearsal.
func TestListenToTheChip(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	s := openScene(t, 80, 24, 16, liveHeron)
	d := s.design()
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	c := newChipPort(t, sketch.LiveBaud, files, sketch.Folder(d))
	c.chip.SetPin(d.Remote.Pin, bench.High, 0)
	remote := func(button string) {
		code, err := ir.ParseCode(d.Remote.Buttons[slices.IndexFunc(d.Remote.Buttons, func(b model.Button) bool { return b.Name == button })].Code)
		require.NoError(t, err)
		c.mu.Lock()
		defer c.mu.Unlock()
		c.chip.PlayIR(d.Remote.Pin, ir.Encode(code), c.chip.Now()+1600)
	}
	s.keys("F8", "l", "'"+c.name, "Enter").awaits("the prop itself, at " + c.name).awaits("state roost")
	c.noise(1 << 20)
	s.awaits("bytes came that are not the prop's")
	remote("wake")
	s.awaits("heard press wake").awaits("state watch")
	s.keys("s", "'bench", "Enter")
	c.mute(true)
	s.awaits("the prop says nothing any more: is it still powered and connected?")
	remote("sleep") // nobody hears of it
	c.mu.Lock()
	c.chip.RunTo(c.chip.Now() + 500*bench.Millisecond)
	c.sent = len(c.chip.UART())
	c.mu.Unlock()
	c.mute(false)
	s.awaits(" lost on ").awaits("state roost")
	s.keys("3").awaits("heard press wander")
	c.breakOff("$S 0C 00012A")
	s.awaits("the line is closed: was the board unplugged?")

	script, err := rehearsal.Load(filepath.Join(s.dir, "heron.bench.rehearsal.txt"))
	require.NoError(t, err)
	_, misses, err := rehearsal.Run(machine.Compile(d), script)
	require.NoError(t, err)
	assert.Empty(t, misses)
}
