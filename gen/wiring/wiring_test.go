package wiring_test

import (
	"encoding/xml"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"propwright/gen/wiring"
	"propwright/model"
	"propwright/model/designs"
	"propwright/model/designs/odd"
	"propwright/model/random"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func heron(t *testing.T) *model.Design {
	d, err := model.Read("heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	return d
}

// Everything that has a pin is in the plan once, and in its drawing.
func TestEveryPin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := random.Design(t)
		p := wiring.New(d)
		var want, got []string
		want = append(want, fmt.Sprintf("%d receiver", d.Remote.Pin))
		wired := d.Wired()
		for _, in := range wired.Inputs {
			want = append(want, fmt.Sprintf("%d %s", in.Pin, in.Name))
		}
		for _, o := range wired.Outputs {
			want = append(want, fmt.Sprintf("%d %s", o.Pin, o.Name))
		}
		svg, err := p.SVG()
		require.NoError(t, err)
		words := written(t, svg)
		for _, w := range p.Wires {
			got = append(got, fmt.Sprintf("%d %s", w.Pin, w.Part))
			assert.Contains(t, words, w.Part)
			for _, n := range w.Notes {
				assert.NotEmpty(t, p.Notes[n-1])
			}
		}
		assert.ElementsMatch(t, want, got)
		assert.True(t, slices.IsSortedFunc(p.Wires, func(a, b wiring.Wire) int { return a.Pin - b.Pin }))
	})
}

// written are the words of a drawing.
func written(t require.TestingT, svg []byte) (words []string) {
	dec := xml.NewDecoder(strings.NewReader(string(svg)))
	for {
		token, err := dec.Token()
		if err == io.EOF {
			return words
		}
		require.NoError(t, err)
		if s, ok := token.(xml.CharData); ok {
			words = append(words, string(s))
		}
	}
}

// No line runs over the right edge, in a wide font either: a letter is reckoned wider than
// the mean of DejaVu Sans, 0.54 of the size in these texts, in bold 0.61.
func TestLinesFitThePage(t *testing.T) {
	d := odd.Whole(t)["sixteen"]
	d.Prop.Label = strings.Repeat("The Sixteenth Harbour ", 8)
	svg, err := wiring.New(d).SVG()
	require.NoError(t, err)
	var drawn struct {
		Width string `xml:"width,attr"`
		Lines []struct {
			X      float64 `xml:"x,attr"`
			Size   float64 `xml:"font-size,attr"`
			Weight string  `xml:"font-weight,attr"`
			Text   string  `xml:",chardata"`
		} `xml:"g>text"`
	}
	require.NoError(t, xml.Unmarshal(svg, &drawn))
	width, err := strconv.ParseFloat(strings.TrimSuffix(drawn.Width, "pt"), 64)
	require.NoError(t, err)
	require.NotEmpty(t, drawn.Lines)
	for _, l := range drawn.Lines {
		per := 0.56
		if l.Weight == "bold" {
			per = 0.63
		}
		assert.LessOrEqual(t, l.X+per*l.Size*float64(utf8.RuneCountInString(l.Text)), width, l.Text)
	}
}

// Resistors are values that can be bought: of the E12 series (IEC 60063:2015,
// table 1).
func TestValuesAreOfASeries(t *testing.T) {
	e12 := []float64{1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2}
	for _, w := range wiring.New(heron(t)).Wires {
		if w.Series == "" {
			continue
		}
		var value float64
		var unit string
		_, err := fmt.Sscanf(w.Series, "%g %s", &value, &unit)
		require.NoError(t, err)
		for value >= 10 {
			value /= 10
		}
		assert.Contains(t, e12, value, w.Series)
		assert.Contains(t, []string{"Ω", "kΩ"}, unit)
	}
}

// The heron's fuse carries its busiest moment: in it every motor moves and the strip
// is at its limit, so the current is the sum of what the file says, by hand.
func TestFuse(t *testing.T) {
	d := heron(t)
	most := 0.0
	for _, o := range d.Outputs {
		most += float64(o.StallMA + o.MaxMA)
	}
	assert.Equal(t, 4200.0, most)
	assert.Contains(t, string(wiring.New(d).Text()), "a fuse of 5 A: at most 4.2 A are")

	d.Output("neck").StallMA = 0
	assert.Contains(t, string(wiring.New(d).Text()), `that of "neck" is not`)
	d.Output("neck").StallMA = 40_000
	assert.Contains(t, string(wiring.New(d).Text()), "a fuse each for a part")
}

// A pin that floats until the sketch runs is held where its part rests.
func TestPulls(t *testing.T) {
	d := heron(t)
	d.Output("voice-splash").Active = model.High
	pulls := map[string]string{}
	for _, w := range wiring.New(d).Wires {
		pulls[w.Part] = w.Pull
	}
	assert.Equal(t, map[string]string{"receiver": "", "neck": "ground", "beak": "ground", "eyelid": "ground", "wing": "ground",
		"wheel": "ground", "water": "ground", "voice-call": "5 V", "voice-splash": "ground", "voice-stop": "5 V"}, pulls)
}

// What would hurt pixels, and what would not.
func TestFeedOfLights(t *testing.T) {
	d := heron(t)
	assert.Contains(t, string(wiring.New(d).Text()), "5 V from a regulator for 0.6 A or more")
	d.Supply.Volts = 5
	assert.NotContains(t, string(wiring.New(d).Text()), "regulator")
}

func TestTextFitsATerminal(t *testing.T) {
	for _, line := range strings.Split(string(wiring.New(heron(t)).Text()), "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 80, line)
	}
}

// What is on an expander is in the plan by its address and channel, and so are
// the bus and the jumpers.
func TestExpanders(t *testing.T) {
	d := odd.Whole(t)["sixteen"]
	p := wiring.New(d)
	at := map[string]string{}
	for _, w := range p.Wires {
		at[w.Part+" "+w.What] = fmt.Sprintf("%v %d", w.Bus, w.Pin)
	}
	assert.Equal(t, "i2c:0x40 9", at["s13 servo"])
	assert.Equal(t, "i2c:0x41 15", at["lamp switch"])
	assert.Equal(t, " 18", at["expander SDA of PCA9685"])
	assert.Equal(t, " 19", at["expander SCL of PCA9685"])
	assert.Contains(t, string(p.Text()), "0x40: none closed; 0x41: A0")
	svg, err := p.SVG()
	require.NoError(t, err)
	assert.Subset(t, written(t, svg), []string{"i2c:0x40", "i2c:0x41", "channel 15"})
	for _, line := range strings.Split(string(p.Text()), "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 80, line)
	}
}
