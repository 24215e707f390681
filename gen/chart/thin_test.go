package chart

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/picture"
	"propwright/model"
)

// crowd is a design of many states with some arrows from each.
func crowd(states, arrows int) *model.Design {
	d := &model.Design{Prop: model.Prop{Name: "crowd"}}
	for i := range arrows {
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{Name: fmt.Sprintf("b%d", i)})
	}
	for i := range states {
		kind := model.Ambient
		if i == 0 {
			kind = model.Dormant
		}
		d.States = append(d.States, model.State{Name: fmt.Sprintf("s%d", i), Kind: kind})
		for j := range arrows {
			d.Transitions = append(d.Transitions, model.Transition{
				From: []model.From{{State: fmt.Sprintf("s%d", i)}},
				On:   []model.Trigger{{Kind: model.Press, Name: fmt.Sprintf("b%d", j)}},
				To:   fmt.Sprintf("s%d", (i*7+j*31+3)%states),
			})
		}
	}
	return d
}

// A chart of any size is drawn, with all that the design says.
func TestManyArrows(t *testing.T) {
	for _, c := range []struct {
		states, arrows int
		drawn          int    // arrows
		says           string // in a box
	}{
		{10, 3, 30, ""},
		{60, 3, 180, "press b1 → s34"},
		{300, 10, 0, "press b9 → s282"},
	} {
		d := crowd(c.states, c.arrows)
		chart, err := New(d, View{})
		require.NoError(t, err)
		assert.Len(t, chart.Arrows, c.drawn)
		svg, err := chart.SVG()
		require.NoError(t, err)
		_, texts := readTexts(t, svg)
		if c.says != "" {
			assert.Contains(t, texts, c.says)
		}
		for i := range d.States {
			require.Contains(t, texts, d.States[i].Name)
		}
		for i := range d.Transitions {
			for _, s := range saidBy(d, &d.Transitions[i], Same) {
				require.Equal(t, 1, shown(chart, s), "%s on %s", s.from, s.on)
			}
		}
		if c.drawn == 0 {
			assert.Contains(t, strings.Join(texts, "|"), "3000 arrows are too many to draw")
		}
	}
}

// Four states from which twenty buttons lead to twenty places: nobody could
// tell which words are whose, so they are in the boxes.
func TestACrowdedChartOfFewStates(t *testing.T) {
	d := crowd(24, 20)
	d.Transitions = d.Transitions[:4*20]
	c, err := New(d, View{})
	require.NoError(t, err)
	assert.True(t, c.dense)
	for _, a := range c.Arrows {
		assert.Empty(t, a.label())
	}
	assert.Contains(t, string(c.DOT()), "outputorder=edgesfirst", "no line crosses the words")
	c, err = New(crowd(40, 2), View{})
	require.NoError(t, err)
	assert.False(t, c.dense, "as many arrows, and more boxes")
}

// A chart without arrows is read like a page: from left to right, row by row,
// from the state that power-up leads to.
func TestRowsAreReadLikeAPage(t *testing.T) {
	d := crowd(100, 5)
	c, err := New(d, View{})
	require.NoError(t, err)
	require.Empty(t, c.Arrows)
	assert.Contains(t, c.Boxes[0].Lines, Line{Text: "power-up leads here"})
	type place struct{ x, y float64 }
	at := map[string]place{}
	for _, f := range c.picture().Figures {
		for _, x := range f.Shapes {
			if w, ok := x.(picture.Words); ok && w.Weight == "bold" {
				at[w.Text] = place{float64(w.X), float64(w.Y)}
			}
		}
	}
	row := 0
	for i := 1; i < len(d.States); i++ {
		before, here := at[d.States[i-1].Name], at[d.States[i].Name]
		if here.y > before.y+20 {
			row++
			continue
		}
		assert.Greater(t, here.x, before.x, d.States[i].Name)
	}
	assert.InDelta(t, 13, row, 2)
}

// Many triggers at one arrow are a paragraph, not a tower.
func TestManyTriggersAtOneArrow(t *testing.T) {
	d := crowd(2, 20)
	for i := range d.Transitions {
		d.Transitions[i].To = "s1"
	}
	c, err := New(d, View{})
	require.NoError(t, err)
	label := c.Arrows[0].label()
	lines := strings.Split(label, "\n")
	assert.LessOrEqual(t, len(lines), 5, label)
	assert.Equal(t, "press b0, b1, b2, b3, b4,", lines[0])
	for i := range 20 {
		assert.Contains(t, strings.ReplaceAll(label, "\n", " ")+",", fmt.Sprintf(" b%d,", i))
	}
}

// No line in a box is so long that it could not be on a page.
func TestLongLinesInBoxes(t *testing.T) {
	d := crowd(1, 20)
	for i := range d.Transitions {
		d.Transitions[i].To, d.Transitions[i].Ignore = "", true
	}
	c, err := New(d, View{})
	require.NoError(t, err)
	svg, err := c.SVG()
	require.NoError(t, err)
	_, texts := readTexts(t, svg)
	assert.Contains(t, texts, "ignored: press b0, b1, b2, b3, b4, b5, b6, b7,")
	for _, l := range texts {
		assert.LessOrEqual(t, len([]rune(l)), lineWidth+20, l) // the legend's may be longer
	}
}
