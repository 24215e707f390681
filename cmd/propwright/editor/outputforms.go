package editor

import (
	"fmt"
	"math"
	"strings"

	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/motion"
)

// An outputForm is how outputs of one motion.Form are drawn.
type outputForm struct {
	lane  func(l *lanes, p pane.Pen, t theme, ln *lane)
	word  func(o *model.Output, a model.Action) string // of a cue, on its lane
	gauge func(v *play, o *model.Output, w int, line *outputLine)
}

var outputForms = map[motion.Form]outputForm{
	motion.OnScale: {
		lane: (*lanes).drawCurve,
		word: func(*model.Output, model.Action) string { return "" }, // the curve says it
		gauge: func(v *play, o *model.Output, w int, line *outputLine) {
			at := v.player.Value(o.Name)
			line.gauge, line.text = gauge(o, at, w), motion.Reading(o, at)
		},
	},
	motion.InLights: {
		lane:  (*lanes).drawLight,
		word:  func(_ *model.Output, a model.Action) string { return string(a.Effect) }, // the colour is seen
		gauge: (*play).lights,
	},
	motion.OnOff: {
		lane: (*lanes).drawOnOff,
		word: (*model.Output).Says,
		gauge: func(v *play, o *model.Output, _ int, line *outputLine) {
			line.gauge, line.text = "○", "off"
			if v.player.Active(o.Name) {
				line.gauge, line.text = "●", "ON"
			}
			line.text += v.sound(o)
		},
	},
	motion.InMessages: {
		lane: (*lanes).drawOnOff,
		word: (*model.Output).Says,
		gauge: func(v *play, o *model.Output, _ int, line *outputLine) {
			line.text = "nothing sent yet"
			if sent := v.player.Sent(o.Name); len(sent) > 0 {
				last := sent[len(sent)-1]
				line.text = fmt.Sprintf("%s at %s: % X", last.Message, clockText(last.At), last.Bytes)
			}
		},
	},
}

// gauge is where a value lies on its output's scale.
func gauge(o *model.Output, at motion.Range, w int) string {
	lo, hi := o.Scale()
	inner := []rune(strings.Repeat("─", max(w-2, 1)))
	place := func(x float64) int {
		if hi <= lo {
			return 0
		}
		return max(min(int(math.Round((x-lo)/(hi-lo)*float64(len(inner)-1))), len(inner)-1), 0)
	}
	if lo < 0 && hi > 0 {
		inner[place(0)] = '┼'
	}
	for i := place(at.Lo); i <= place(at.Hi); i++ {
		inner[i] = '●'
	}
	return "├" + string(inner) + "┤"
}

// lights shows a strip: a character for each pixel, or for some where there
// is no room for all.
func (v *play) lights(o *model.Output, w int, line *outputLine) {
	n := min(o.Count, w)
	var b strings.Builder
	for i := range n {
		l := v.player.Pixel(o.Name, i*o.Count/n)
		r, style := v.theme.light(colourOf(l))
		b.WriteRune(r)
		line.lights = append(line.lights, style)
	}
	line.gauge, line.text = b.String(), colourOf(v.player.Pixel(o.Name, 0)).String()
}

func colourOf(l motion.Light) model.Colour {
	mid := func(r motion.Range) uint8 { return uint8(math.Round((r.Lo + r.Hi) / 2)) }
	return model.Colour{R: mid(l[0]), G: mid(l[1]), B: mid(l[2])}
}

// light shows a colour as a block, its brightness also by the character.
func (t *theme) light(c model.Colour) (rune, tcell.Style) {
	bright := (int(c.R)*3 + int(c.G)*6 + int(c.B)) / 10
	r := '█'
	switch {
	case c == model.Colour{}:
		return '·', t.Dim
	case bright < 20:
		r = '░'
	case bright < 70:
		r = '▒'
	case bright < 140:
		r = '▓'
	}
	if !t.Colours {
		return r, t.Plain
	}
	return r, tcell.StyleDefault.Foreground(tcell.NewRGBColor(int32(c.R), int32(c.G), int32(c.B)))
}
