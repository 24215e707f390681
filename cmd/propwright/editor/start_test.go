package editor

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
)

// emptyScene is an editor without a design, in a folder of its own.
func emptyScene(t *testing.T, file string) *scene {
	t.Helper()
	s := &scene{t: t, dir: t.TempDir()}
	t.Chdir(s.dir)
	s.run(80, 24, 16, func(e *Editor) { e.files.askStart(file) })
	return s
}

// Whatever outputs and buttons a guided design is given, a build takes it:
// the reader has no fault to find and no rule an error or a warning.
func TestGuidedDesignPassesTheRules(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		g := &guide{file: "g.prop.toml", name: "guided", board: model.Boards[0], buttons: []string{"off", "on", "go"}, states: []string{"rest", "idle", "show"}}
		for i, kind := range rapid.SliceOfN(rapid.SampledFrom(model.OutputKinds), 1, 8).Draw(t, "kinds") {
			o := model.FirstOutput(kind)
			o.Name = string(rune('a' + i))
			if g.givePin(&o) == nil { // only one pin can send
				g.outputs = append(g.outputs, o)
			}
		}
		for i := range rapid.IntRange(0, 5).Draw(t, "further buttons") {
			g.buttons = append(g.buttons, "b"+string(rune('0'+i)))
		}
		d, err := model.Read(g.file, g.design().Format())
		require.NoError(t, err)
		found, err := check.NewStudy(d).Check(check.Rules())
		require.NoError(t, err)
		idles := len(d.States[1].Drift)+len(d.States[1].Pose) > 0
		for _, f := range found {
			// What the maker has not yet used is told, and may be: further
			// buttons; and sounds alone give nothing to do when idle.
			if f.Rule != "unused-button" && (f.Rule != "silent-state" || idles) {
				require.Equal(t, check.Note, f.Severity, "%s: %s\n%s", f.Rule, f.Message, d.Format())
			}
		}
	})
}

func TestGuide(t *testing.T) {
	s := emptyScene(t, "")
	s.sees("what shall we begin with?", "Servos pinch").keys("Esc").sees("choose a line")
	s.keys("Enter").sees("1 of 6").keys("'My Bird", "Enter").sees("is not a name").keys("Ctrl-U", "'my-bird", "Enter")
	s.sees("2 of 6", "atmega328p").keys("Esc").sees("1 of 6", "my-bird").keys("Enter", "Enter")
	s.sees("3 of 6").keys("Ctrl-U", "'off off on", "Enter").sees("is duplicated").keys("Ctrl-U", "'off on", "Enter").sees("three buttons at least")
	s.keys("Ctrl-U", "'off on go extra", "Enter")
	s.sees("4 of 6").keys("'servo", "Enter", "'neck", "Enter").sees("one output so far, neck")
	s.keys("'pulse", "Enter", "'neck", "Enter").sees("is duplicated").keys("Ctrl-U", "'voice", "Enter")
	s.sees("2 outputs so far, the last voice").keys("Enter")
	s.sees("5 of 6").keys("Ctrl-U", "'asleep awake any", "Enter").sees("has its own meaning").keys("Ctrl-U", "'asleep awake bow", "Enter")
	s.sees("6 of 6", "my-bird.prop.toml", "off always brings it to rest", "neck (servo) is on pin 3")
	s.keys("Enter").sees("not saved", "z asleep ◂", "here is my-bird")
	_, err := os.Stat("my-bird.prop.toml")
	assert.ErrorIs(t, err, os.ErrNotExist, "nothing is written before it is saved")
	s.checked().keys("Ctrl-S").sees("my-bird.prop.toml is saved; `propwright build my-bird.prop.toml` writes its")
	d, err := model.Load("my-bird.prop.toml")
	require.NoError(t, err)
	assert.Equal(t, []string{"off", "on", "go", "extra"}, names(d))
}

func names(d *model.Design) []string {
	var all []string
	for _, b := range d.Remote.Buttons {
		all = append(all, b.Name)
	}
	return all
}

func TestDemoIsOneKeyAway(t *testing.T) {
	s := emptyScene(t, "").keys("Down", "Enter").sees("Harbour Heron", "harbour-heron.prop.toml", "F8 plays it").checked().sees("no errors")
	s.keys("Ctrl-S").sees("is saved")
	text, err := os.ReadFile("harbour-heron.prop.toml")
	require.NoError(t, err)
	demo, err := model.Read("demo", designs.HarbourHeron)
	require.NoError(t, err)
	assert.Equal(t, string(demo.Format()), string(text))
}

// What is in the folder is offered: designs, and what was never saved.
func TestStartOffersWhatIsThere(t *testing.T) {
	s := emptyScene(t, "").keys("Down", "Enter", "Ctrl-S").sees("is saved")
	s.at("roost", "press one").keys("'watch", "Enter").crash()
	var b beginning
	require.Eventually(t, func() bool {
		var err error
		b, err = begin("harbour-heron.prop.toml")
		if err == nil && b.lost == nil {
			b.desk.lock.Release()
		}
		return err == nil && b.lost != nil
	}, waitFor, tick)
	b.desk.lock.Release()
	again := &scene{t: t, dir: s.dir}
	again.run(80, 24, 16, func(e *Editor) { e.files.askStart("") })
	again.sees("open harbour-heron.prop.toml").keys("'open", "Enter").sees("bring back what was not saved?").keys("Enter")
	assert.Equal(t, "watch", again.says("roost", "press one"))
}

func TestStartWithoutAFileMakesIt(t *testing.T) {
	s := emptyScene(t, "new-bird.prop.toml").sees("make new-bird.prop.toml").keys("Enter").sees("1 of 6", "new-bird")
	s.keys("Enter", "Enter", "Enter", "'switch", "Enter", "'lamp", "Enter", "Enter", "Enter", "Enter").sees("new-bird.prop.toml", "not saved")
}

func TestNewDesignIsNotLost(t *testing.T) {
	s := emptyScene(t, "new-bird.prop.toml").keys("Enter", "Enter", "Enter", "Enter", "'switch", "Enter", "'lamp", "Enter", "Enter", "Enter", "Enter")
	require.Eventually(t, func() bool { return len(lostDesigns()) == 1 }, waitFor, tick)
	s.crash()
	again := &scene{t: t, dir: s.dir}
	again.run(80, 24, 16, func(e *Editor) { e.files.askStart("") })
	again.sees("bring back new-bird.prop.toml").keys("'bring", "Enter").sees("brought back", "New Bird")
}
