package chart

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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

// A chart of any size is drawn in a time that somebody waits.
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
		start := time.Now()
		svg, err := chart.SVG()
		require.NoError(t, err)
		assert.Less(t, time.Since(start), time.Minute, "a second or two on an idle machine")
		_, texts := readTexts(t, svg)
		if c.says != "" {
			assert.Contains(t, texts, c.says)
		}
		for i := range d.States {
			require.Contains(t, texts, d.States[i].Name)
		}
		for i := range d.Transitions {
			for _, s := range saidBy(&d.Transitions[i], Same) {
				require.Equal(t, 1, shown(chart, s), "%s on %s", s.from, s.on)
			}
		}
		if c.drawn == 0 {
			assert.Contains(t, strings.Join(texts, "|"), "3000 arrows are too many to draw")
		}
	}
}
