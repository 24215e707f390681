package chart

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"image/png"
	"io"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/gen/picture"
	"propwright/model"
	"propwright/model/designs/odd"
	"propwright/model/machine"
	"propwright/model/random"
)

func TestHeronFacts(t *testing.T) {
	c, err := New(odd.Whole(t)["harbour-heron"], View{})
	require.NoError(t, err)
	assert.Equal(t, "Harbour Heron", c.Title)
	assert.Len(t, c.Boxes, 8+3, "eight states and three lists")
	assert.True(t, c.Boxes[0].Start)
	assert.Equal(t, DormantShape, c.Boxes[0].Shape)
	var lists, arrows []string
	for _, b := range c.Boxes[8:] {
		for _, l := range b.Lines {
			lists = append(lists, b.ID+": "+l.Text)
		}
	}
	assert.Equal(t, []string{
		"any ambient: press one → greeting",
		"any ambient: press two → striking",
		"any ambient: press three → preening",
		"any ambient: press four → spreading",
		"any ambient: press five → squalling",
		"any performing: done, press hush → back",
		"any performing: press two → striking, when the routine ends",
		"any: press sleep → roost",
		"any: ignored: press wake, wander, one, two, three, four, five, hush",
	}, lists)
	for _, a := range c.Arrows {
		if a.Line < 0 {
			arrows = append(arrows, a.From+" → "+a.To+": "+strings.Join(a.Labels, ", "))
		}
	}
	assert.Equal(t, []string{
		"roost → watch: press wake",
		"watch → wade: hold wake for 800ms, press wander",
		"watch → roost: press hush, after 90s",
		"wade → watch: press wake, press wander, after 20s..40s",
	}, arrows)
}

// Debian's dot must read the text and find the same boxes and arrows.
func TestDOTIsGraphviz(t *testing.T) {
	dot, err := exec.LookPath("dot")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("dot is not installed; run testdata/setup")
		}
		t.Skip("dot is not installed")
	}
	for name, d := range odd.Whole(t) {
		c, err := New(d, View{})
		require.NoError(t, err)
		cmd := exec.Command(dot, "-Tdot_json")
		cmd.Stdin = bytes.NewReader(c.DOT())
		out, err := cmd.Output()
		require.NoError(t, err, name)
		var graph struct {
			Name    string
			Objects []struct{ Tooltip string }
			Edges   []struct{ Style, Label string }
		}
		require.NoError(t, json.Unmarshal(out, &graph))
		assert.Equal(t, d.Prop.Called(), graph.Name)
		assert.Len(t, graph.Objects, len(c.Boxes)+1, "%s: the boxes and power-up", name)
		assert.Len(t, graph.Edges, len(c.Arrows)+1, name)
		waits, dashed := 0, 0
		for _, a := range c.Arrows {
			if a.Waits {
				waits++
			}
		}
		for _, e := range graph.Edges {
			if e.Style == "dashed" {
				dashed++
			}
		}
		assert.Equal(t, waits, dashed, name)
	}
}

// All that a design says is in its chart, once.
func TestNothingIsLeftOut(t *testing.T) {
	for name, d := range odd.Whole(t) {
		c, err := New(d, View{})
		require.NoError(t, err)
		for i := range d.Transitions {
			for _, s := range saidBy(d, &d.Transitions[i], Same) {
				assert.Equal(t, 1, shown(c, s), "%s: %s on %s", name, s.from, s.on)
			}
		}
	}
}

// shown counts how often a chart says something.
func shown(c *Chart, s said) (n int) {
	says := func(text string) bool {
		g := group{said: s, on: []model.Trigger{s.on}}
		one := g.text() // what it would be alone
		if s.does != "" {
			on, does, _ := strings.Cut(text, " / ")
			return does == s.does && strings.Contains(on+",", s.on.String()+",")
		}
		head, tail, ok := strings.Cut(one, " → ")
		if !ok {
			head, tail = strings.TrimPrefix(one, "ignored: "), "ignored"
		}
		triggers, target, ok := strings.Cut(text, " → ")
		if !ok {
			triggers, target = strings.TrimPrefix(text, "ignored: "), "ignored"
		}
		if target != tail {
			return false
		}
		word := ""
		for _, t := range strings.Split(triggers, ", ") {
			if w, _, two := strings.Cut(t, " "); two {
				word = w
			} else if t != "done" {
				t = word + " " + t
			}
			if t == head {
				return true
			}
		}
		return false
	}
	for _, b := range c.Boxes {
		if b.ID != s.from.String() {
			continue
		}
		for _, l := range b.Lines {
			if says(l.Text) {
				n++
			}
		}
	}
	targets := model.Targets(s.to)
	to := map[string]int{} // arrows
	for _, a := range c.Arrows {
		if a.From == s.from.String() && a.Line < 0 && a.Waits == s.waits && (a.Choice != "") == (len(targets) > 1) &&
			slices.Contains(a.Labels, s.on.String()) {
			to[a.To]++
		}
	}
	once := 0
	for _, target := range targets {
		if to[target] == 1 {
			once++
		}
	}
	if once > 0 && once == len(targets) {
		n++
	}
	return n
}

func TestPicturesAreTheSameEveryTime(t *testing.T) {
	for name, d := range odd.Whole(t) {
		first, err := New(d, View{})
		require.NoError(t, err)
		again, err := New(d, View{})
		require.NoError(t, err)
		a, err := first.SVG()
		require.NoError(t, err)
		b, err := again.SVG()
		require.NoError(t, err)
		assert.Equal(t, string(a), string(b), name)
	}
}

// encoding/xml takes the place of a viewer of SVG.
func TestSVGShowsNotes(t *testing.T) {
	d := odd.Whole(t)["harbour-heron"]
	d.States[1].Note = "eyes <half> open & \"calm\""
	d.Transitions[0].Note = "the long press is for wading"
	c, err := New(d, View{})
	require.NoError(t, err)
	svg, err := c.SVG()
	require.NoError(t, err)
	titles, texts := readTexts(t, svg)
	assert.Contains(t, strings.Join(titles, "|"), d.States[1].Note)
	assert.Contains(t, strings.Join(titles, "|"), d.Transitions[0].Note)
	for i := range d.States {
		assert.Contains(t, texts, d.States[i].Name)
	}
	assert.Contains(t, texts, "ambient")
	assert.Contains(t, texts, "performing, plays greet")
	assert.Contains(t, texts, "press two → striking, when the routine ends")
}

func readTexts(t require.TestingT, svg []byte) (titles, texts []string) {
	d := xml.NewDecoder(bytes.NewReader(svg))
	in := ""
	for {
		token, err := d.Token()
		if err == io.EOF {
			return titles, texts
		}
		require.NoError(t, err)
		switch x := token.(type) {
		case xml.StartElement:
			in = x.Name.Local
		case xml.EndElement:
			in = ""
		case xml.CharData:
			switch in {
			case "title":
				titles = append(titles, string(x))
			case "text":
				texts = append(texts, strings.Trim(string(x), "\u00a0"))
			}
		}
	}
}

func TestPNG(t *testing.T) {
	c, err := New(odd.Whole(t)["lock-keeper"], View{})
	require.NoError(t, err)
	data, err := c.PNG()
	require.NoError(t, err)
	img, err := png.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	p := c.picture()
	assert.InDelta(t, p.W*picture.DotsPerPoint, img.Bounds().Dx(), 1)
	assert.InDelta(t, p.H*picture.DotsPerPoint, img.Bounds().Dy(), 1)
	dark, coloured, clear := 0, 0, 0
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			r, g, b, a := img.At(x, y).RGBA()
			switch {
			case a != 0xffff:
				clear++
			case r < 0x6000 && g < 0x6000 && b < 0x6000:
				dark++
			case r != g || g != b:
				coloured++
			}
		}
	}
	assert.Zero(t, clear, "the paper is white, not transparent")
	area := img.Bounds().Dx() * img.Bounds().Dy()
	assert.InDelta(t, 0.03, float64(dark)/float64(area), 0.025, "lines and letters, no blots")
	assert.Greater(t, float64(coloured)/float64(area), 0.02)
}

func TestViews(t *testing.T) {
	d := odd.Whole(t)["harbour-heron"]
	c, err := New(d, View{State: "roost"})
	require.NoError(t, err)
	var arrows []string
	for _, a := range c.Arrows {
		arrows = append(arrows, a.From+" → "+a.To)
	}
	assert.Equal(t, []string{"roost → roost", "roost → watch", "watch → roost", "any → roost"}, arrows)

	c, err = New(d, View{Button: "hush"})
	require.NoError(t, err)
	assert.Contains(t, c.Legend, Key{Text: "a press of hush is ignored in roost, wade"})
	for _, a := range c.Arrows {
		assert.Equal(t, []string{"press hush"}, a.Labels)
	}

	_, err = New(d, View{State: "roots"})
	assert.EqualError(t, err, `there is no state "roots"; did you mean roost?`)
	_, err = New(d, View{Button: "xyzzy"})
	assert.ErrorContains(t, err, "there are sleep, wake")
	_, err = New(d, View{State: "roost", Button: "hush"})
	assert.Error(t, err)
}

// Any text that a design can hold can be drawn.
func TestAnyDesignCanBeDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := random.Design(t)
		c, err := New(d, View{})
		require.NoError(t, err)
		svg, err := c.SVG()
		require.NoError(t, err)
		_, texts := readTexts(t, svg)
		for i := range d.States {
			require.Contains(t, texts, d.States[i].Name)
		}
		page, err := Matrix(d).HTML()
		require.NoError(t, err)
		wellFormed(t, page)
	})
}

func wellFormed(t require.TestingT, page []byte) {
	d := xml.NewDecoder(bytes.NewReader(page))
	for {
		if _, err := d.Token(); err == io.EOF {
			return
		} else if err != nil {
			require.NoError(t, err)
		}
	}
}

// The compiled program resolves precedence in another way than the table.
func TestMatrixAgreesWithTheMachine(t *testing.T) {
	for name, d := range odd.Whole(t) {
		p := machine.Compile(d)
		text, err := Matrix(d).CSV()
		require.NoError(t, err)
		lines, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		require.NoError(t, err)
		require.Len(t, lines, len(d.States)+1)
		column := map[string]int{}
		for i, c := range lines[0] {
			column[c] = i
		}
		for s := range d.States {
			id := machine.StateID(s)
			line := lines[s+1]
			require.Equal(t, d.States[s].Name, line[0])
			for e, on := range p.Events {
				want := ""
				if m := p.Move(id, machine.EventID(e)); m != nil {
					want = wanted(p, m)
				}
				got, _, _ := strings.Cut(line[column[on.String()]], " (")
				assert.Equal(t, want, got, "%s: %s in %s", name, on, line[0])
			}
			for _, timer := range p.Timers(id) {
				on := d.Transitions[timer.Transition].On[timer.Trigger]
				got, _, _ := strings.Cut(line[column[on.String()]], " (")
				assert.Equal(t, wanted(p, &timer.Move), got, "%s: %s in %s", name, on, line[0])
			}
		}
	}
}

func wanted(p *machine.Program, m *machine.Move) string {
	switch {
	case m.Ignore:
		return "ignored"
	case m.Target == machine.BackTarget:
		return "back"
	case m.Do:
		return "/ " + p.Design.Does(&p.Design.Transitions[m.Transition])
	}
	return p.To(m)
}
