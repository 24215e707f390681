//go:build linux

package editor

import (
	"bufio"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/pty"
	"propwright/model"
)

// trimBoard answers as the trim sketch of a prop does; the name is its port's.
func trimBoard(t testing.TB, prop string) (port string) {
	master, port := pty.Open(t)
	go func() {
		pty.AwaitRaw(master)
		for lines := bufio.NewScanner(master); lines.Scan(); {
			var servo, us, sum int
			switch n, _ := fmt.Sscan(lines.Text(), &servo, &us, &sum); {
			case lines.Text() == "?":
				fmt.Fprintf(master, "trim %s\r\n", prop)
			case n == 3 && sum == servo+us:
				fmt.Fprintf(master, "at %d %d\r\n", servo, us)
			}
		}
	}()
	return port
}

// stopped waits until the servo is where it was sent.
func (s *scene) stopped() *scene {
	require.Eventually(s.t, func() bool { return !strings.Contains(s.text(), "moving …") }, waitFor, tick)
	return s
}

// A servo is moved by hand from the rig: what is confirmed is in the design, and undo
// takes it back.
func TestTrimInTheRig(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	was := string(s.design().Format())
	port := trimBoard(t, s.design().Prop.Name)
	s.keys("F4", "Down", "t").sees("move beak by hand", "first write the trim sketch")
	s.keys("'"+port, "Enter").awaits("1200 us, 0deg")
	s.keys("Right").awaits("1210 us").keys(".").awaits("1212 us").keys("x").sees("max is set", "max 35deg at 1212 us")
	s.keys("Right").awaits("1222us is past the end, which is confirmed at 1212us").keys("-").awaits("1202 us")
	s.keys("x", "m").sees("the other end is at 1202us, too").keys("c").sees("the ends are open again")
	s.keys("Esc").sees("beak is free in two seconds")
	noOverlay(s)
	beak := s.design().Output("beak")
	assert.Equal(t, []int{1200, 1202}, []int{beak.UsAtMin, beak.UsAtMax})
	s.keys("Ctrl-Z").sees("taken back: max of beak").keys("Ctrl-Z")
	assert.Equal(t, was, string(s.design().Format()))
}

func TestTrimSaysWhatIsMissing(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	s.keys("F4", "End", "t").sees("choose a servo or a spinner first")
	s.keys("Home", "t", "'nowhere", "Enter").awaits("the port nowhere cannot be opened")
	s.keys("t", "'"+trimBoard(t, "gull"), "Enter").awaits(`is that of "gull"`)
	s.keys("t", "'first", "Enter").sees("the sketch is in")
	require.FileExists(t, s.dir+"/trim/trim.ino")
	noOverlay(s)
}

// A pose that is taught becomes cues behind the one under the cursor, and the next one
// comes behind these.
func TestTeachAPose(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	was := string(s.design().Format())
	s.keys("F5", "Right", "End", "e").sees("teach a pose", "first write the trim sketch")
	before := len(s.design().Routines[0].Cues)
	s.keys("'"+trimBoard(t, s.design().Prop.Name), "Enter").awaits("» neck             free")
	s.keys("Enter").sees("no servo has been moved")
	s.keys("Right").stopped().sees("» neck             0deg       in the pose")
	s.keys("Down", "Right").stopped().keys("Right").stopped().sees("» beak             0.9deg     in the pose")
	s.keys("-").stopped().keys("-").stopped().sees("1190us is past the end, which is confirmed at 1200us")
	s.keys(".").stopped().sees("» beak             4.4deg")
	s.keys("Enter").sees("2 cues at ")
	s.keys("Right").stopped().keys("Enter").sees("1 cue at ").keys("Esc").sees("the servos are free")
	noOverlay(s)
	cues := s.design().Routines[0].Cues[before:]
	taught(t, cues, 5.3)
	assert.Equal(t, cues[0].At, cues[1].At)
	assert.Equal(t, cues[1].At+500*time.Millisecond, cues[2].At)
	s.keys("Ctrl-Z").sees("taken back: a pose").keys("Ctrl-Z")
	assert.Equal(t, was, string(s.design().Format()))
}

// taught checks that a pose of the neck and the beak became cues, and then one of the
// beak alone, in its last place.
func taught(t *testing.T, cues []model.Cue, last model.Degrees) {
	t.Helper()
	require.Len(t, cues, 3)
	for i, want := range []struct {
		output string
		to     model.Degrees
	}{{"neck", 0}, {"beak", 4.4}, {"beak", last}} {
		assert.Equal(t, want.output, cues[i].Output)
		assert.Equal(t, want.to, cues[i].To)
		assert.Equal(t, 500*time.Millisecond, cues[i].Over)
	}
}

// What the keys of moving a servo do, for TestEveryKey.
func init() {
	moving := func(s *scene) {
		port := trimBoard(s.t, s.design().Prop.Name)
		s.keys("F4", "Down", "t", "'"+port, "Enter").awaits("move beak by hand").stopped()
	}
	after := func(keys ...string) func(*scene) {
		return func(s *scene) {
			moving(s)
			for _, k := range keys {
				s.keys(k).stopped()
			}
		}
	}
	at := func(text string) func(*scene) { return func(s *scene) { s.awaits(text) } }
	posing := func(keys ...string) func(*scene) {
		return func(s *scene) {
			s.keys("F5", "e", "'"+trimBoard(s.t, s.design().Prop.Name), "Enter").awaits("» neck             free")
			for _, k := range keys {
				s.keys(k).stopped()
			}
		}
	}
	for id, e := range map[string]effect{
		"trim":           {func(s *scene) { s.keys("F4") }, func(s *scene) { s.sees("move neck by hand", "first write the trim sketch").keys("Esc"); noOverlay(s) }},
		"trim-less":      {moving, at("1190 us, -0.9deg")},
		"trim-more":      {moving, at("1210 us, 0.9deg")},
		"trim-fine-less": {moving, at("1198 us")},
		"trim-fine-more": {moving, at("1202 us")},
		"trim-min":       {after("."), at("min 0deg at 1202 us")},
		"trim-max":       {after("."), at("max 35deg at 1202 us")},
		"trim-rest":      {after("."), at("rest 0.2deg")},
		"trim-clear":     {after(".", "x"), at("the ends are open again")},
		"cue-teach":      {keys("F5"), func(s *scene) { s.sees("teach a pose", "first write the trim sketch").keys("Esc"); noOverlay(s) }},
		"pose-up":        {posing("Down"), at("» neck")},
		"pose-down":      {posing(), at("» beak")},
		"pose-less":      {posing("Right"), at("» neck             -1deg")},
		"pose-more":      {posing("Left"), at("» neck             1deg")},
		"pose-far-less":  {posing("Left"), at("» neck             -5deg")},
		"pose-far-more":  {posing("Left"), at("» neck             5deg")},
		"pose-take":      {posing("Left"), at("1 cue at ")},
		"pose-leave":     {posing(), func(s *scene) { s.sees("the servos are free in two seconds"); noOverlay(s) }},
		"trim-leave":     {moving, func(s *scene) { s.sees("beak is free in two seconds"); noOverlay(s) }},
	} {
		effects[id] = e
	}
}
