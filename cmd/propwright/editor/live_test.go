//go:build linux

package editor

import (
	"bufio"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/live"
	"propwright/cmd/propwright/pty"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/designs"
	"propwright/model/machine"
)

// liveHeron is the demo whose firmware tells what it does.
var liveHeron = []byte(strings.Replace(string(designs.HarbourHeron), "board = \"atmega328p\"\n", "board = \"atmega328p\"\nlive = true\n", 1))

// livePort is where something answers as that firmware does: each press leads from the
// first state to the second, but with that of the first button it is unplugged.
func livePort(t testing.TB) (port string) {
	d, err := model.Read("heron.prop.toml", liveHeron)
	require.NoError(t, err)
	mark := uint32(sketch.LiveMark(machine.Compile(d))) << 16
	master, port := pty.Open(t)
	tell := func(what byte, which int, value uint32, at time.Duration) bool {
		_, err := io.WriteString(master, live.Told{What: what, Which: which, Value: value, At: at}.String()+"\n")
		return err == nil
	}
	var mu sync.Mutex // of what follows
	state, beat := 0, time.Duration(0)
	go func() {
		pty.AwaitRaw(master)
		// It beats as long as it is plugged in; until a button is pressed it restarts over
		// and over, as what comes while a port is being opened may be lost.
		go func() {
			for there := true; there; time.Sleep(500 * time.Millisecond) {
				mu.Lock()
				if state == 0 {
					_, _ = io.WriteString(master, "\x00noise")
					tell('H', 1, mark, 0)
					tell('S', 0, 0, 0)
				}
				there = tell('B', state, mark, beat)
				mu.Unlock()
			}
		}()
		last := byte(0)
		for in := bufio.NewReader(master); ; {
			var half [6]byte
			if _, err := io.ReadFull(in, half[:]); err != nil {
				return
			}
			button := int(half[1])
			if button == 0 {
				_ = master.Close()
				return
			}
			mu.Lock()
			if half[0] == last { // sent again: it was taken
				tell('K', button, 0, beat)
			} else {
				tell('K', button, 1, time.Second)
				tell('E', button, 0, time.Second)
				tell('S', 1, 0, time.Second)
				state, beat = 1, 2*time.Second
				tell('B', state, mark, beat)
				tell('L', 0, 300, beat) // seen on the screen once the beat is taken too
			}
			mu.Unlock()
			last = half[0]
		}
	}()
	return port
}

// The rehearsal gives way to the prop itself: its state is shown, in the matrix too,
// its buttons are pressed, and what it did is saved as a script.
func TestListenToTheProp(t *testing.T) {
	t.Parallel()
	port := livePort(t)
	s := openScene(t, 80, 24, 0, liveHeron)
	s.keys("F8", "l").sees("listen to the prop", "the prop may move: stay clear")
	s.keys("'"+port, "Enter").awaits("the prop itself, at "+port).awaits("state roost").sees("bytes came that are not the prop's", "powered up")
	s.keys("2").awaits("held up for 300 ms").sees("heard press wake", "state watch", "watch ")
	s.sees("Enter press", "l leave", "✗Space run", "✗h hold")
	s.do(func() { // at once, before the prop says anything more
		s.e.key(s.events("Space")[0])
		assert.Contains(t, s.e.message, "this is the prop itself; l goes back to the rehearsal")
	})
	s.keys("F2").sees("watch ●")
	s.keys("F8", "s", "'bench", "Enter")
	text, err := os.ReadFile(filepath.Join(s.dir, "heron.bench.rehearsal.txt"))
	require.NoError(t, err)
	assert.Contains(t, string(text), "wait 1s\nexpect roost\npress wake\nwait 1s\nexpect watch\n")
	s.keys("1").awaits("the line is closed: was the board unplugged?").sees("what the prop at "+port+" told", "heard press wake")
	s.keys("F2")
	assert.NotContains(t, s.text(), "●")
	s.keys("F8", "2").sees("the line is closed").keys("s", "'unplugged", "Enter")
	assert.FileExists(t, filepath.Join(s.dir, "heron.unplugged.rehearsal.txt"))
	s.keys("l").sees("the rehearsal goes on where it was", "log")
}

// Where the firmware tells nothing, the key says what to do about it; leaving says so.
func TestListenToASilentProp(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	s.keys("F8", "l").sees("write live = true below [prop]")
	port := livePort(t)
	s = openScene(t, 80, 24, 16, liveHeron)
	s.keys("F8", "l", "'nowhere", "Enter").sees("nowhere cannot be opened").keys("Esc")
	s.keys("l", "'"+port, "Enter").awaits("state roost").keys("l").sees("the rehearsal goes on where it was", "log")
}

// The keys while the prop is listened to, for TestEveryKey.
func init() {
	listening := func(s *scene) {
		s.do(func() {
			require.NoError(s.t, s.e.setKey(model.Elem{Sort: model.SortProp}, "live", "true"))
		})
		s.keys("F8", "l", "'"+livePort(s.t), "Enter").awaits("state roost").keys("Down")
	}
	heard := func(s *scene) { s.awaits("heard press wake") }
	for id, e := range map[string]effect{
		"prop-press": {listening, heard},
		"prop-digit": {listening, heard},
		"prop-save":  {listening, func(s *scene) { s.sees("save the rehearsal as a script") }},
		"prop-leave": {listening, func(s *scene) { s.sees("the rehearsal goes on where it was", "h hold") }},
	} {
		effects[id] = e
	}
}
