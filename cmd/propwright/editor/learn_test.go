package editor

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/ir"
)

// pressed is the times of presses, one frame each, a line each, as ir-ctl
// and the capture sketch write them.
func pressed(frames ...[]int) string {
	var b strings.Builder
	for _, frame := range frames {
		for i, us := range frame {
			fmt.Fprintf(&b, "%c%d ", "+-"[i%2], us)
		}
		b.WriteString("-500000\n")
	}
	return b.String()
}

func necFrame(command uint32) []int {
	return ir.Encode(ir.Code{Protocol: "nec", Address: 0x31, Command: command})
}

// lessonFrom has the button sleep learned from a file of saved times, up to
// what is understood of the first press.
func lessonFrom(frames ...[]int) func(*scene) {
	return func(s *scene) {
		require.NoError(s.t, os.WriteFile(filepath.Join(s.dir, "times"), []byte(pressed(frames...)), 0o644))
		s.keys("F3", "l", "Down", "Enter", "'times", "Enter").sees("which button will you press?", "» sleep")
		s.keys("Enter").awaits("» Enter gives")
	}
}

// awaits waits until the screen shows a text.
func (s *scene) awaits(text string) *scene {
	s.t.Helper()
	if !assert.Eventually(s.t, func() bool { return strings.Contains(s.text(), text) }, waitFor, tick) {
		s.sees(text)
	}
	return s
}

func codeOf(s *scene, button string) string {
	for _, b := range s.design().Remote.Buttons {
		if b.Name == button {
			return b.Code
		}
	}
	return "no button"
}

// Noise and a clash are asked for again; each code goes to its button, to a
// new one too, and undo takes them back one by one.
func TestLearnFromSavedTimes(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	was := string(s.design().Format())
	lessonFrom(necFrame(1)[:9], necFrame(1), necFrame(1), necFrame(2), necFrame(3))(s)
	s.sees("Once more: ", "nec, address 0x31, command 0x01 (certain: ", "times off by 0 %", "gives sleep the code nec:0x31:0x01")
	s.keys("Enter").sees("which button will you press?", "» wake")
	assert.Equal(t, "nec:0x31:0x01", codeOf(s, "sleep"))
	s.keys("Enter").awaits("gives wake the code nec:0x31:0x02").sees(`the button "sleep" sends that already`)
	s.keys("Enter", "'Two Words", "Enter").sees("is not a name")
	for range "Two Words" {
		s.keys("Backspace")
	}
	s.keys("'wave", "Enter").awaits("gives wave the code nec:0x31:0x03")
	s.keys("Enter", "Enter").awaits("No more presses come.").keys("Enter").sees("press the button on the remote")
	s.keys("Esc").sees("3 buttons are learned", "wave")
	noOverlay(s)
	assert.Equal(t, "nec:0x31:0x02", codeOf(s, "wake"))
	assert.Equal(t, "nec:0x31:0x03", codeOf(s, "wave"))
	s.keys("Ctrl-Z").sees("taken back: learn button wave")
	assert.Equal(t, "no button", codeOf(s, "wave"))
	s.keys("Ctrl-Z", "Ctrl-Z")
	assert.Equal(t, was, string(s.design().Format()))
}

// A code that was made up is marked until the remote's own is learned. What is learned
// there too is that the remote sends whole frames while a button is down.
func TestCodeNotLearnedIsMarked(t *testing.T) {
	t.Parallel()
	s := newScene(t, 160, 50, 16).keys("F3", "Ctrl-N", "'spare", "Enter").sees("code not learned; nothing yet", "✗whole frame")
	frame := strings.TrimSpace(pressed(necFrame(9)))
	held := strings.TrimSuffix(frame, "-500000") + "-40000\n"
	require.NoError(t, os.WriteFile(filepath.Join(s.dir, "times"), []byte(strings.Repeat(held, 3)+frame+"\n"), 0o644))
	s.keys("l", "Down", "Enter", "'times", "Enter").sees("which button will you press?").keys("'spare", "Enter").awaits("» Enter gives")
	s.keys("Enter").sees("which button will you press?").keys("Esc").sees("nec:0x31:0x09", "nothing yet", "✗code not learned", "repeat: frame")
}

func TestLearnFromKeymap(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	was := string(s.design().Format())
	require.NoError(t, os.WriteFile(filepath.Join(s.dir, "gull.toml"), []byte(`[[protocols]]
name = "gull"
protocol = "nec"
[protocols.scancodes]
0x3101 = "KEY_POWER"
0x3102 = "KEY_VOLUMEUP"
`), 0o644))
	keymap := []string{"F3", "l", "Down", "Down", "Enter", "'gull.toml", "Enter"}
	s.keys(keymap...).sees("take which key of the keymap?", "power", "nec:0x31:0x01", "all 2 keys")
	s.keys("Enter").sees("power is for which button?").keys("'wander", "Enter").sees("take which key")
	assert.Equal(t, "nec:0x31:0x01", codeOf(s, "wander"))
	s.keys("'all", "Enter").sees(`what "wander"`, "take only one") // power is taken already
	s.keys("Esc", "Ctrl-Z")
	assert.Equal(t, was, string(s.design().Format()))
	s.keys(keymap...).keys("'all", "Enter")
	assert.Equal(t, "nec:0x31:0x02", codeOf(s, "volumeup"))
	s.keys("Ctrl-Z")
	assert.Equal(t, was, string(s.design().Format()), "one edit")
}

// What cannot be read is said where the name was written.
func TestLearnFromNothing(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	require.NoError(t, os.WriteFile(filepath.Join(s.dir, "times"), []byte("pulse 900\nspice 10\n"), 0o644))
	s.keys("F3", "l", "Down", "Enter", "'nothing", "Enter").sees("there is no file").keys("Esc")
	s.keys("l", "Down", "Enter", "'times", "Enter").sees("times:2").keys("Esc")
	s.keys("l", "Down", "Down", "Enter", "'times", "Enter").sees("not a keymap").keys("Esc")
	s.keys("l", "Enter", "'no-such-port", "Enter").sees("the port no-such-port cannot be").keys("Esc")
	noOverlay(s)
}
