package card

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pgregory.net/rapid"
	"propwright/gen/letters"

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
	c := New(check.NewStudy(heron(t)))
	assert.Equal(t, "sleep", c.Stop)
	assert.Equal(t, "From anywhere it comes to rest within 3\u00a0s. If not: switch the supply off.", c.Rests)
	require.Len(t, c.Rows, 10)
	assert.Equal(t, Row{"sleep", [3]string{"stays at rest", "roost", "roost"}}, c.Rows[0], "the stop button comes first")
	assert.Equal(t, Row{"wake", [3]string{"watch", "wade: watch", ""}}, c.Rows[1])
	assert.Equal(t, Row{"wake, held 800\u00a0ms", [3]string{"", "watch: wade", ""}}, c.Rows[2])
	assert.Equal(t, Row{"wander", [3]string{"", "watch: wade; wade: watch", ""}}, c.Rows[3])
	assert.Equal(t, Row{"two", [3]string{"", "plays strike", "plays strike, when this ends"}}, c.Rows[5])
	assert.Equal(t, Row{"hush", [3]string{"", "watch: roost", "stops, and idles on"}}, c.Rows[9])
	assert.Equal(t, []string{
		"in watch, after 90\u00a0s: roost",
		"in wade, after 20\u00a0s to 40\u00a0s: watch",
	}, c.Alone)
	assert.Contains(t, c.States, "watch: Looking out over the harbour")
}

// What a dormant state leaves on is named, so that nobody waits for it to go out.
func TestLitAtRest(t *testing.T) {
	assert.Empty(t, New(check.NewStudy(heron(t))).Lit, "the water is black")
	white := model.Colour{R: 255, G: 255, B: 255}
	for _, c := range []struct {
		name         string
		roost, perch []model.Pose // perch nil: there is no such state
		want         []string
	}{
		{"a light", []model.Pose{{Output: "water", Action: model.Action{Effect: model.EffectSolid, Colour: white}}}, nil, []string{"water: on, as is meant"}},
		{"a fade to black", []model.Pose{{Output: "water", Action: model.Action{Effect: model.EffectFade, Colour: white}}}, nil, nil},
		{"a fade from black", []model.Pose{{Output: "water", Action: model.Action{Effect: model.EffectFade, Colour2: white}}}, nil, []string{"water: on, as is meant"}},
		{"a switch that is off", []model.Pose{{Output: "lamp"}}, nil, nil},
		{"in one of two states", []model.Pose{{Output: "lamp", Action: model.Action{Set: true}}}, []model.Pose{{Output: "lamp"}}, []string{"in roost, lamp: on, as is meant"}},
		{"in both", []model.Pose{{Output: "lamp", Action: model.Action{Set: true}}}, []model.Pose{{Output: "lamp", Action: model.Action{Set: true}}}, []string{"lamp: on, as is meant"}},
	} {
		d := heron(t)
		d.Outputs = append(d.Outputs, model.Output{Name: "lamp", Kind: model.KindSwitch, Pin: 13})
		d.States[0].Pose = c.roost
		if c.perch != nil {
			d.States = append(d.States, model.State{Name: "perch", Kind: model.Dormant, Pose: c.perch})
		}
		card := New(check.NewStudy(d))
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
	assert.Equal(t, "sleep", New(check.NewStudy(d)).Rows[0].Act)
}

func TestSixtyStates(t *testing.T) {
	c := New(check.NewStudy(pier(t)))
	rows := map[string][3]string{}
	for _, r := range c.Rows {
		rows[r.Act] = r.In
	}
	assert.Equal(t, [3]string{"", "plays call", ""}, rows["one"], "six states that play one routine are one thing to see")
	assert.Equal(t, "one of 6 things, by where it is", rows["next"][1])
	assert.Equal(t, "rest-hour, when this ends", rows["next"][2])
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
	regular := letters.Face(false, measureSize)
	bold := letters.Face(true, measureSize)
	l := layer{regular: regular, bold: bold}
	for _, c := range []struct {
		what  string
		d     *model.Design
		least float64 // type, in points
	}{
		{"heron", heron(t), 8},
		{"pier", pier(t), 6.5},
		{"20 buttons", crowded(20, false), 5.5},
		{"20 buttons, held too", crowded(20, true), 4},
		{"60 buttons, held too", crowded(60, true), 1},
	} {
		k := New(check.NewStudy(c.d))
		p := lay(k)
		assert.GreaterOrEqual(t, p.size, c.least, c.what)
		words := ""
		for _, i := range p.items {
			assert.LessOrEqual(t, i.y, pageHeight-margin+0.01, "%s: %s", c.what, i.text)
			left, right := i.x, i.x+i.w
			if i.kind == textItem {
				w := l.width(i.text, i.size, i.bold)
				if i.middle {
					left -= w / 2
				}
				right = left + w
				words += i.text + " "
			}
			assert.GreaterOrEqual(t, left, margin-0.5, "%s: %s", c.what, i.text)
			assert.LessOrEqual(t, right, pageWidth-margin+0.5, "%s: %s", c.what, i.text)
			if i.kind == textItem && i.text != "" {
				assert.GreaterOrEqual(t, i.size, min(4, c.least), "%s, %s: too small to read", c.what, i.text)
			}
		}
		whole := strings.ReplaceAll(words, " ", "")
		for _, say := range append([]string{"press " + k.Stop, k.Rests}, k.Cares...) {
			assert.Contains(t, whole, strings.ReplaceAll(say, " ", ""), "%s: whole, not cut off", c.what)
		}
		for _, b := range k.Buttons {
			assert.Contains(t, whole, b, c.what)
		}
		for _, b := range p.items {
			if b.kind == textItem && strings.Contains("Unplug before touching any wire.", b.text) && len(b.text) > 10 {
				assert.GreaterOrEqual(t, b.size, careful, "cautions are never small")
			}
		}
	}
}

// Names of buttons do not run into each other on the picture of the remote.
func TestButtonsNamesStandApart(t *testing.T) {
	regular := letters.Face(false, measureSize)
	bold := letters.Face(true, measureSize)
	for _, draw := range []func(*layer, *Card) float64{(*layer).beside, (*layer).above} {
		l := &layer{page: &page{}, size: 6, regular: regular, bold: bold}
		draw(l, New(check.NewStudy(crowded(20, false))))
		var names []item
		for _, i := range l.items {
			if i.kind == textItem && i.middle && i.text != "STOP" {
				names = append(names, i)
			}
		}
		require.Greater(t, len(names), 40, "each name has several lines")
		for i, a := range names {
			for _, b := range names[:i] {
				apart := (l.width(a.text, a.size, a.bold) + l.width(b.text, b.size, b.bold)) / 2
				if math.Abs(a.y-b.y) < 1.5 {
					assert.GreaterOrEqual(t, math.Abs(a.x-b.x), apart, "%s, %s", a.text, b.text)
				}
			}
		}
	}
}

// Where the type would be too small a card tells fewer cases apart.
func TestFewerCasesOnAFullCard(t *testing.T) {
	c := New(check.NewStudy(crowded(20, true)))
	assert.Contains(t, c.Rows[1].In[1], "; ")
	require.NotNil(t, c.shorter)
	assert.Equal(t, "one of 3 things, by where it is", c.shorter.shorter.Rows[1].In[1])
	p := lay(c)
	said := ""
	for _, i := range p.items {
		said += i.text + " "
	}
	assert.Contains(t, said, "one of 3 things")
	assert.Empty(t, c.shorter.shorter.States, "words that do not stand on the card need no meaning")
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
	assert.Equal(t, "From anywhere it comes to rest within 5.6\u00a0s. If not: switch the supply off.", New(check.NewStudy(d)).Rests, "the longest routine and the way to the nest, not the 3 s of rest_within")
	d.Prop.RestWithin = 10 * time.Second
	assert.Equal(t, "From anywhere it comes to rest within 10\u00a0s. If not: switch the supply off.", New(check.NewStudy(d)).Rests)
	d.Transitions = d.Transitions[:len(d.Transitions)-1]
	for i := range d.Transitions {
		if tr := &d.Transitions[i]; tr.To == model.Back {
			tr.On = tr.On[1:] // no routine ends any more
		}
	}
	assert.Equal(t, "It may not come to rest from everywhere: be ready to switch the supply off.", New(check.NewStudy(d)).Rests)

	d = heron(t)
	for i := range d.Transitions {
		if tr := &d.Transitions[i]; tr.On[0].Name == "sleep" {
			d.Transitions = append(d.Transitions, model.Transition{From: []model.From{{State: "roost"}}, On: tr.On, To: "watch"})
			break
		}
	}
	assert.Equal(t, [3]string{"watch", "roost", "roost"}, New(check.NewStudy(d)).Rows[0].In, "stop wakes it")
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
	assert.Equal(t, "in 7 states: "+strings.Repeat("does it ", 5)+"act-0", New(check.NewStudy(d)).Rows[1].In[1])
	for i := range 4 {
		d.Transitions = append(d.Transitions, model.Transition{From: []model.From{{State: fmt.Sprintf("more-%d", 4+i)}}, On: d.Transitions[0].On, To: "act-0"})
	}
	assert.Equal(t, strings.Repeat("does it ", 5)+"act-0"+" (mostly)", New(check.NewStudy(d)).Rows[1].In[1])
}

// What the font of a PDF cannot write is a box, and told.
func TestPDFOfAnyLetters(t *testing.T) {
	d := heron(t)
	d.Prop.Label = "🦩 שלום Héron"
	d.States[0].Label = "漢字 👩\u200d🚀"
	c := New(check.NewStudy(d))
	text, err := c.PDF()
	require.NoError(t, err)
	missing := c.Missing()
	for _, r := range "🦩שלום漢字" {
		assert.Contains(t, missing, string(r))
	}
	assert.Equal(t, 1, bytes.Count(text, []byte("/Type /Page\n")))
	missing = New(check.NewStudy(heron(t))).Missing()
	assert.Empty(t, missing)
	rapid.Check(t, func(t *rapid.T) {
		_, err := New(check.NewStudy(random.Design(t))).PDF()
		require.NoError(t, err)
	})
}

func TestHTMLIsWellFormed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, err := New(check.NewStudy(random.Design(t))).HTML()
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

// The picture has the words of the page, at the size of the page.
func TestSVGIsThePage(t *testing.T) {
	c := New(check.NewStudy(heron(t)))
	svg, err := c.SVG()
	require.NoError(t, err)
	page, err := c.HTML()
	require.NoError(t, err)
	texts := func(text []byte) (all []string) {
		d := xml.NewDecoder(bytes.NewReader(text))
		in := ""
		for {
			token, err := d.Token()
			if err == io.EOF {
				return all
			}
			require.NoError(t, err)
			switch x := token.(type) {
			case xml.StartElement:
				if in = x.Name.Local; in == "svg" {
					for _, a := range x.Attr {
						if a.Name.Local == "viewBox" {
							all = append(all, a.Value)
						}
					}
				}
			case xml.EndElement:
				in = ""
			case xml.CharData:
				if in == "text" {
					all = append(all, string(x))
				}
			}
		}
	}
	want := texts(page)
	assert.Equal(t, "0 0 148 210", want[0])
	assert.Contains(t, want, "STOP")
	assert.Equal(t, want, texts(svg))
	assert.Contains(t, string(svg), `width="148mm" height="210mm"`)
}

func TestSameBytesEveryTime(t *testing.T) {
	d := pier(t)
	for _, write := range []func(*Card) ([]byte, error){(*Card).HTML, (*Card).PDF} {
		a, err := write(New(check.NewStudy(d)))
		require.NoError(t, err)
		b, err := write(New(check.NewStudy(d)))
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
	text, err := New(check.NewStudy(d)).PDF()
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
	for _, want := range []string{"Harbour Héron Ωμέγα", "press sleep", "STOP", "plays greet", "stops, and idles", "Unplug before touching any wire.", "800 ms"} {
		assert.Contains(t, words, want)
	}
}
