package card

import (
	"bytes"
	"cmp"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/go-pdf/fpdf"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/gen/picture"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/random"
)

func heron(t *testing.T) *model.Design {
	t.Helper()
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	return d
}

func pier(t *testing.T) *model.Design {
	t.Helper()
	d, err := model.Load("../../model/designs/odd/pier-parade.prop.toml")
	require.NoError(t, err)
	return d
}

func TestHeronFacts(t *testing.T) {
	c := New(check.NewStudy(heron(t)), "")
	assert.Equal(t, "sleep", c.Stop)
	assert.Equal(t, "From anywhere it comes to rest within 3\u00a0s. If not: switch the supply off.", c.Rests)
	require.Len(t, c.Rows, 10)
	says := map[string][]string{}
	for _, r := range c.Rows {
		says[r.Act] = r.Says
	}
	assert.Equal(t, "sleep", c.Rows[0].Act, "the stop button comes first")
	for act, want := range map[string][]string{
		"sleep":                  {"At rest: stays at rest.", "While it idles or while it performs: comes to rest, “Asleep on the post”."},
		"wake":                   {"At rest or while “Wading”: changes to “Looking out over the harbour”."},
		"wake, held 800\u00a0ms": {"While “Looking out over the harbour”: changes to “Wading”."},
		"wander":                 {"While “Looking out over the harbour”: changes to “Wading”.", "While “Wading”: changes to “Looking out over the harbour”."},
		"two":                    {"While it idles: performs “strike”.", "While it performs: performs “strike” once this has ended."},
		"hush":                   {"While “Looking out over the harbour”: comes to rest, “Asleep on the post”.", "While it performs: stops this, and goes on as before."},
	} {
		assert.Equal(t, want, says[act], act)
	}
	assert.Equal(t, []string{
		"While “Looking out over the harbour”, after 90\u00a0s: comes to rest, “Asleep on the post”.",
		"While “Wading”, after 20\u00a0s to 40\u00a0s: changes to “Looking out over the harbour”.",
	}, c.Alone)
	assert.Empty(t, c.Inputs)
}

// Switches and sensors are not told of as buttons.
func TestInputsAreNotPressed(t *testing.T) {
	d, err := model.Load("../../model/designs/lock-keeper.prop.toml")
	require.NoError(t, err)
	c := New(check.NewStudy(d), "")
	var acts []string
	for _, r := range c.Inputs {
		acts = append(acts, r.Act)
	}
	assert.Equal(t, []string{"gate turns on", "gate turns off", "boat turns on", "boat turns off"}, acts)
	for _, r := range c.Rows {
		assert.NotContains(t, r.Act, "turns")
	}
	press, other := -1, -1
	for _, w := range words(c) {
		switch w.Text {
		case "Press":
			press = int(w.Y)
		case "Without the remote":
			other = int(w.Y)
		case "gate turns on":
			assert.Greater(t, int(w.Y), other)
		case "wave":
			assert.Greater(t, int(w.Y), press)
		}
	}
	assert.Greater(t, other, press)
}

// The digest is the design's, whatever its file looks like; a date only where
// one is given.
func TestVersion(t *testing.T) {
	d := heron(t)
	version := New(check.NewStudy(d), "").Version
	assert.Regexp(t, `^design [0-9a-f]{8}$`, version)
	assert.Equal(t, version+" · 2026-05-01", New(check.NewStudy(d), "2026-05-01").Version)
	d.Prop.RestWithin++
	assert.NotEqual(t, version, New(check.NewStudy(d), "").Version)
}

// The card says what was verified, and does not hide an error.
func TestChecked(t *testing.T) {
	d := heron(t)
	assert.Equal(t, "Checked: the design. Not tried: the prop itself.", New(check.NewStudy(d), "").Checked)
	d.Remote.Pin = d.Outputs[0].Pin
	c := New(check.NewStudy(d), "")
	assert.Equal(t, "The design has errors: do not rely on this card.", c.Checked)
	var said []string
	for _, w := range words(c) {
		said = append(said, w.Text)
	}
	assert.Contains(t, said, c.Checked)
}

// words are those on the page.
func words(c *Card) (all []picture.Words) {
	for _, s := range lay(c).shapes {
		if w, ok := s.(picture.Words); ok {
			all = append(all, w)
		}
	}
	return all
}

// States that perform one routine are told apart where they take a button differently.
func TestOneRoutineInTwoStates(t *testing.T) {
	d := heron(t)
	strike := d.States[slices.IndexFunc(d.States, func(s model.State) bool { return s.Name == "striking" })]
	strike.Name = "encore"
	d.States = append(d.States, strike)
	d.Transitions = append(d.Transitions,
		model.Transition{From: []model.From{{State: "watch"}}, On: []model.Trigger{{Kind: model.Press, Name: "five"}}, To: "encore"},
		model.Transition{From: []model.From{{State: "encore"}}, On: []model.Trigger{{Kind: model.Release, Name: "five"}}, To: "watch"},
		model.Transition{From: []model.From{{State: "striking"}, {State: "encore"}}, On: []model.Trigger{{Kind: model.Hold, Name: "five", For: time.Second}}, To: "watch"},
	)
	rows := map[string][]string{}
	for _, r := range New(check.NewStudy(d), "").Rows {
		rows[r.Act] = r.Says
	}
	assert.Equal(t, []string{"While “strike (encore)”: changes to “Looking out over the harbour”."}, rows["five, let go"])
	assert.Equal(t, []string{"While “strike”: changes to “Looking out over the harbour”."}, rows["five, held 1\u00a0s"])
}

// What a dormant state leaves on is named, so that nobody waits for it to go out.
func TestLitAtRest(t *testing.T) {
	assert.Empty(t, New(check.NewStudy(heron(t)), "").Lit, "the water is black")
	white := model.Colour{R: 255, G: 255, B: 255}
	for _, c := range []struct {
		name         string
		roost, perch []model.Pose // perch nil: there is no such state
		want         []string
	}{
		{"a light", []model.Pose{{Output: "water", Action: model.Action{Effect: model.EffectSolid, Colour: white}}}, nil, []string{"water: on, as is meant."}},
		{"a fade to black", []model.Pose{{Output: "water", Action: model.Action{Effect: model.EffectFade, Colour: white}}}, nil, nil},
		{"a fade from black", []model.Pose{{Output: "water", Action: model.Action{Effect: model.EffectFade, Colour2: white}}}, nil, []string{"water: on, as is meant."}},
		{"a switch that is off", []model.Pose{{Output: "lamp"}}, nil, nil},
		{"in one of two states", []model.Pose{{Output: "lamp", Action: model.Action{Set: true}}}, []model.Pose{{Output: "lamp"}}, []string{"While “Asleep on the post”, lamp: on, as is meant."}},
		{"in both", []model.Pose{{Output: "lamp", Action: model.Action{Set: true}}}, []model.Pose{{Output: "lamp", Action: model.Action{Set: true}}}, []string{"lamp: on, as is meant."}},
	} {
		d := heron(t)
		d.Outputs = append(d.Outputs, model.Output{Name: "lamp", Kind: model.KindSwitch, Pin: 13})
		d.States[0].Pose = c.roost
		if c.perch != nil {
			d.States[0].Start = true
			d.States = append(d.States, model.State{Name: "perch", Kind: model.Dormant, Pose: c.perch})
		}
		card := New(check.NewStudy(d), "")
		assert.Equal(t, c.want, card.Lit, c.name)
		text, err := card.HTML()
		require.NoError(t, err)
		for _, line := range c.want {
			assert.Contains(t, string(text), ">"+line+"<", c.name)
		}
	}
}

func TestStopComesFirstWhateverTheFile(t *testing.T) {
	d := heron(t)
	b := d.Remote.Buttons
	b[0], b[8] = b[8], b[0]
	assert.Equal(t, "sleep", New(check.NewStudy(d), "").Rows[0].Act)
}

func TestSixtyStates(t *testing.T) {
	c := New(check.NewStudy(pier(t)), "")
	rows := map[string][]string{}
	for _, r := range c.Rows {
		rows[r.Act] = r.Says
	}
	assert.Equal(t, []string{"While it idles: performs “call”."}, rows["one"], "six states that play one routine are one thing to see")
	assert.Equal(t, []string{
		"While it idles: does one of 6 things, depending on what it is doing.",
		"While it performs: comes to rest, “A pause in the day” once this has ended.",
	}, rows["next"])
}

// crowded is a design of many buttons that do something each in each state.
func crowded(buttons int, holds bool) *model.Design {
	d := &model.Design{Prop: model.Prop{Name: "crowd", Label: "A prop with a label that goes on and on and on and on"}}
	d.Remote.Stop = "the-longest-stop-button"
	d.Remote.Buttons = []model.Button{{Name: d.Remote.Stop}}
	d.States = []model.State{{Name: "asleep-on-the-nest-again", Kind: model.Dormant, Label: "Asleep"}}
	for i := range 4 {
		d.States = append(d.States, model.State{Name: fmt.Sprintf("idle-for-a-long-while-%d", i), Kind: model.Ambient, Label: strings.Repeat("a long label ", 3)})
	}
	for i := range buttons - 1 {
		name := fmt.Sprintf("a-button-of-long-name-%02d", i)
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{Name: name})
		act := fmt.Sprintf("act-%d", i)
		d.States = append(d.States, model.State{Name: act, Kind: model.Performing, Label: strings.Repeat("does it ", 5) + act})
		on := []model.Trigger{{Kind: model.Press, Name: name}}
		if holds {
			on = append(on, model.Trigger{Kind: model.Hold, Name: name, For: time.Second})
		}
		for j := range 3 {
			d.Transitions = append(d.Transitions, model.Transition{
				From: []model.From{{State: d.States[1+j].Name}}, On: on, To: fmt.Sprintf("act-%d", (i+j)%(buttons-1)),
			})
		}
	}
	return d
}

// Everything is on the page, nothing overlaps the next list, and all can be
// read, with twenty buttons too.
func TestFitsThePage(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	for _, c := range []struct {
		what  string
		d     *model.Design
		least float64 // type, in points
	}{
		{"heron", heron(t), 9},
		{"pier", pier(t), 6.5},
		{"20 buttons", crowded(20, false), 6},
		{"20 buttons, held too", crowded(20, true), 5},
		{"60 buttons, held too", crowded(60, true), 2},
	} {
		k := New(check.NewStudy(c.d), "")
		p := lay(k)
		assert.GreaterOrEqual(t, p.size, c.least, c.what)
		said := ""
		for _, s := range p.shapes {
			if path, ok := s.(picture.Path); ok {
				for _, step := range path.D {
					for i := 0; i < len(step.At); i += 2 {
						assert.True(t, p.within(step.At[i], step.At[i]) && step.At[i+1] <= p.h-margin+0.01, "%s: %v", c.what, step)
					}
				}
				continue
			}
			w := s.(picture.Words)
			left, right := ends(w)
			assert.True(t, p.within(left, right), "%s: %s", c.what, w.Text)
			assert.LessOrEqual(t, float64(w.Y), p.h-margin+0.01, "%s: %s", c.what, w.Text)
			if w.Text != "" {
				assert.GreaterOrEqual(t, float64(w.Size), min(4, c.least), "%s, %s: too small to read", c.what, w.Text)
			}
			if strings.HasPrefix(w.Text, "Unplug before") {
				assert.GreaterOrEqual(t, float64(w.Size), careful, "cautions are never small")
			}
			said += w.Text + " "
		}
		whole := strings.ReplaceAll(said, " ", "")
		for _, say := range slices.Concat([]string{"press " + k.Stop, k.Rests}, k.Cares, k.Help) {
			assert.Contains(t, whole, strings.ReplaceAll(say, " ", ""), "%s: whole, not cut off", c.what)
		}
		for _, b := range k.Buttons {
			assert.Contains(t, whole, b, c.what)
		}
	}
}

// ends are where words begin and end.
func ends(w picture.Words) (left, right float64) {
	wide := picture.Faces{}.Width(w.Text, w.Weight == "bold", float64(w.Size))
	left = float64(w.X)
	switch w.Anchor {
	case "middle":
		left -= wide / 2
	case "end":
		left -= wide
	}
	return left, left + wide
}

func (p *paper) within(left, right float64) bool { return left >= margin-1 && right <= p.w-margin+1 }

// Names of buttons do not run into each other on the picture of the remote.
func TestButtonsNamesStandApart(t *testing.T) {
	for _, beside := range []bool{true, false} {
		l := &layer{ruler: ruler{picture.Faces{}, map[ruled]float64{}}, paper: papers[0], size: 6}
		l.card(New(check.NewStudy(crowded(20, false)), ""), beside)
		var names []picture.Words
		for _, s := range l.shapes {
			if w, ok := s.(picture.Words); ok && w.Anchor == "middle" && w.Text != "STOP" {
				names = append(names, w)
			}
		}
		require.Greater(t, len(names), 40, "each name has several lines")
		for i, a := range names {
			for _, b := range names[:i] {
				if math.Abs(float64(a.Y-b.Y)) < 4 {
					al, ar := ends(a)
					bl, br := ends(b)
					assert.True(t, ar <= bl || br <= al, "%s, %s", a.Text, b.Text)
				}
			}
		}
	}
}

// Where the type would be too small a card tells fewer cases apart.
func TestFewerCasesOnAFullCard(t *testing.T) {
	c := New(check.NewStudy(crowded(20, true)), "")
	assert.Greater(t, len(c.Rows[1].Says), 1)
	require.NotNil(t, c.shorter)
	assert.Equal(t, []string{"While it idles: does one of 3 things, depending on what it is doing."}, c.shorter.shorter.Rows[1].Says)
	said := ""
	for _, w := range words(c) {
		said += w.Text + " "
	}
	assert.Contains(t, said, "one of 3 things")
}

// A card does not promise what the prop does not keep.
func TestWhatStoppingPromises(t *testing.T) {
	d := heron(t)
	for i := range d.Transitions {
		if tr := &d.Transitions[i]; tr.On[0].Name == "sleep" {
			tr.From = []model.From{{State: model.Any, Kind: model.Ambient}, {State: model.Any, Kind: model.Dormant}}
			later := *tr
			later.From, later.Defer = []model.From{{State: model.Any, Kind: model.Performing}}, true
			d.Transitions = append(d.Transitions, later)
			break
		}
	}
	assert.Equal(t, "From anywhere it comes to rest within 5.6\u00a0s. If not: switch the supply off.", New(check.NewStudy(d), "").Rests, "the longest routine and the way to the nest, not the 3 s of rest_within")
	d.Prop.RestWithin = 10 * time.Second
	assert.Equal(t, "From anywhere it comes to rest within 10\u00a0s. If not: switch the supply off.", New(check.NewStudy(d), "").Rests)
	d.Transitions = d.Transitions[:len(d.Transitions)-1]
	for i := range d.Transitions {
		if tr := &d.Transitions[i]; tr.To == model.Back {
			tr.On = tr.On[1:] // no routine ends any more
		}
	}
	assert.Equal(t, "It may not come to rest from everywhere: be ready to switch the supply off.", New(check.NewStudy(d), "").Rests)

	d = heron(t)
	for i := range d.Transitions {
		if tr := &d.Transitions[i]; tr.On[0].Name == "sleep" {
			d.Transitions = append(d.Transitions, model.Transition{From: []model.From{{State: "roost"}}, On: tr.On, To: "watch"})
			break
		}
	}
	c := New(check.NewStudy(d), "")
	assert.Equal(t, "At rest: changes to “Looking out over the harbour”.", c.Rows[0].Says[0], "stop wakes it")
	assert.Equal(t, "From anywhere it comes to rest within 91.1\u00a0s, but where it rests already this wakes it: press it only while the prop moves. If not: switch the supply off.", c.Rests)
	for i := range d.Transitions {
		for k := range d.Transitions[i].On {
			if on := &d.Transitions[i].On[k]; on.After.Hi == 90*time.Second {
				on.After = model.Span{Lo: 15 * time.Minute, Hi: 15 * time.Minute}
			}
		}
	}
	assert.Contains(t, New(check.NewStudy(d), "").Rests, "within 15\u00a0min 2\u00a0s, but")
}

// A state is told of mostly only where most do it.
func TestMostly(t *testing.T) {
	d := crowded(2, false)
	for i := range 12 {
		d.States = append(d.States, model.State{Name: fmt.Sprintf("more-%d", i), Kind: model.Ambient})
		if i < 4 {
			d.Transitions = append(d.Transitions, model.Transition{From: []model.From{{State: fmt.Sprintf("more-%d", i)}}, On: d.Transitions[0].On, To: "act-0"})
		}
	}
	act := "performs “" + strings.Repeat("does it ", 5) + "act-0”"
	assert.Equal(t, "In 7 states: "+act+".", New(check.NewStudy(d), "").Rows[1].Says[0])
	for i := range 4 {
		d.Transitions = append(d.Transitions, model.Transition{From: []model.From{{State: fmt.Sprintf("more-%d", 4+i)}}, On: d.Transitions[0].On, To: "act-0"})
	}
	assert.Equal(t, "While it idles: "+act+", mostly.", New(check.NewStudy(d), "").Rows[1].Says[0])
}

// Where the font of a PDF cannot write a label, the name is printed, and that is told.
func TestPDFOfAnyLetters(t *testing.T) {
	d := heron(t)
	d.Prop.Label = "🦩 שלום Héron"
	d.States[0].Label = "漢字 👩\u200d🚀"
	c := New(check.NewStudy(d), "")
	text, err := c.PDF()
	require.NoError(t, err)
	missing := c.Missing()
	for _, r := range "🦩שלום漢字" {
		assert.Contains(t, missing, string(r))
	}
	assert.Equal(t, 1, bytes.Count(text, []byte("/Type /Page\n")))
	assert.Equal(t, "harbour-heron", c.named.Title)
	assert.Equal(t, c.Version, c.named.Version)
	assert.Contains(t, c.named.Rows[0].Says, "While it idles or while it performs: comes to rest, “"+d.States[0].Name+"”.")
	assert.Contains(t, c.Rows[0].Says, "While it idles or while it performs: comes to rest, “漢字 👩🚀”.")
	c = New(check.NewStudy(heron(t)), "")
	assert.Empty(t, c.Missing())
	assert.Nil(t, c.named)
	rapid.Check(t, func(t *rapid.T) {
		c := New(check.NewStudy(random.Design(t)), "")
		assert.Empty(t, cmp.Or(c.named, c).Missing())
		_, err := c.PDF()
		require.NoError(t, err)
	})
}

func TestHTMLIsWellFormed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, err := New(check.NewStudy(random.Design(t)), "").HTML()
		require.NoError(t, err)
		d := xml.NewDecoder(bytes.NewReader(text))
		for {
			if _, err := d.Token(); err == io.EOF {
				return
			} else if err != nil {
				require.NoError(t, err, string(text))
			}
		}
	})
}

// The picture and the page of HTML are the same, at the size of A5.
func TestSVGIsThePage(t *testing.T) {
	c := New(check.NewStudy(heron(t)), "")
	svg, err := c.SVG()
	require.NoError(t, err)
	page, err := c.HTML()
	require.NoError(t, err)
	picture := strings.TrimSpace(strings.TrimPrefix(string(svg), xml.Header))
	assert.Contains(t, string(page), picture)
	assert.Contains(t, picture, `width="419.5pt" height="595.3pt"`)
	assert.Contains(t, picture, ">STOP<")
}

func TestSameBytesEveryTime(t *testing.T) {
	d := pier(t)
	for _, write := range []func(*Card) ([]byte, error){(*Card).HTML, (*Card).PDF} {
		a, err := write(New(check.NewStudy(d), ""))
		require.NoError(t, err)
		b, err := write(New(check.NewStudy(d), ""))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(a, b))
	}
}

// Poppler, another program than the library, must find one A5 page with the
// words in it.
func TestPDFHasTheWords(t *testing.T) {
	for _, tool := range []string{"pdfinfo", "pdftotext"} {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("%s is not installed; run testdata/setup", tool)
			}
			t.Skipf("%s is not installed", tool)
		}
	}
	d := heron(t)
	d.Prop.Label = "Harbour Héron Ωμέγα"
	text, err := New(check.NewStudy(d), "").PDF()
	require.NoError(t, err)
	ask := func(tool string, args ...string) string {
		cmd := exec.Command(tool, args...)
		cmd.Stdin = bytes.NewReader(text)
		out, err := cmd.Output()
		require.NoError(t, err, tool)
		return string(out)
	}
	info := ask("pdfinfo", "-")
	assert.Regexp(t, `(?m)^Pages:\s+1$`, info)
	assert.Regexp(t, `(?m)^Page size:\s+419\.53 x 595\.28 pts`, info, "148 mm × 210 mm")
	words := strings.Join(strings.Fields(ask("pdftotext", "-layout", "-", "-")), " ")
	for _, want := range []string{"Harbour Héron Ωμέγα", "press sleep", "STOP", "performs “greet”", "goes on as before", "No answer?", "Unplug before touching any wire.", "800 ms"} {
		assert.Contains(t, words, want)
	}
}

// A browser writes the card in Helvetica, or a font as wide. The widths of that font
// which fpdf has from Adobe's Core 14 metrics (1997) leave every word as much room as
// the Go fonts take.
func TestHelveticaFits(t *testing.T) {
	f := fpdf.New("P", "pt", "A4", "")
	latin := f.UnicodeTranslatorFromDescriptor("") // Windows-1252
	for name, text := range designs.Examples() {
		d, err := model.Read(name, text)
		require.NoError(t, err)
		faces := picture.Faces{}
		for _, g := range New(check.NewStudy(d), "").picture().Figures {
			for _, s := range g.Shapes {
				if w, ok := s.(picture.Words); ok {
					style := strings.ToUpper(w.Weight[:min(1, len(w.Weight))])
					f.SetFont("Helvetica", style, float64(w.Size))
					room := faces.Width(w.Text, w.Weight == "bold", float64(w.Size))
					assert.LessOrEqual(t, f.GetStringWidth(latin(w.Text)), 1.002*room, "%s: %s", name, w.Text)
				}
			}
		}
	}
}
