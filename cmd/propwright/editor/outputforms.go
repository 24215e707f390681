package editor

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/motion"
)

// An outputForm is how outputs of one motion.Form are drawn.
type outputForm struct {
	lane  func(l *lanes, p pane.Pen, t theme, ln *lane)
	word  func(o *model.Output, a model.Action) string                                        // of a cue, on its lane
	gauge func(t theme, s *motion.Stage, at time.Duration, o *model.Output, w int) outputLine // at a time, w columns wide
}

var outputForms = map[motion.Form]outputForm{
	motion.OnScale: {
		lane: (*lanes).drawCurve,
		word: func(*model.Output, model.Action) string { return "" }, // the curve says it
		gauge: func(_ theme, s *motion.Stage, at time.Duration, o *model.Output, w int) outputLine {
			v := s.Value(o.Name, at)
			return outputLine{gauge: gauge(o, v, w), text: motion.Reading(o, v)}
		},
	},
	motion.InLights: {
		lane:  (*lanes).drawLight,
		word:  func(_ *model.Output, a model.Action) string { return string(a.Effect) }, // the colour is seen
		gauge: lights,
	},
	motion.OnOff: {
		lane: (*lanes).drawOnOff,
		word: (*model.Output).Says,
		gauge: func(_ theme, s *motion.Stage, at time.Duration, o *model.Output, _ int) outputLine {
			if s.Active(o.Name, at) {
				return outputLine{gauge: "●", text: "ON"}
			}
			return outputLine{gauge: "○", text: "off"}
		},
	},
	motion.InMessages: {
		lane: (*lanes).drawOnOff,
		word: (*model.Output).Says,
		gauge: func(_ theme, s *motion.Stage, at time.Duration, o *model.Output, _ int) outputLine {
			sent := s.Sent(o.Name, at)
			if len(sent) == 0 {
				return outputLine{text: "nothing sent yet"}
			}
			last := sent[len(sent)-1]
			return outputLine{text: fmt.Sprintf("%s at %s: % X", last.Message, model.SayClock(last.At), last.Bytes)}
		},
	},
}

// gauge returns where a value lies on its output's scale.
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
func lights(t theme, s *motion.Stage, at time.Duration, o *model.Output, w int) outputLine {
	n := min(o.Count, w)
	line := outputLine{text: colourOf(s.Pixel(o.Name, 0, at)).String()}
	for i := range n {
		r, style := t.light(colourOf(s.Pixel(o.Name, i*o.Count/n, at)))
		line.gauge += string(r)
		line.lights = append(line.lights, style)
	}
	return line
}

func colourOf(l motion.Light) model.Colour {
	mid := func(r motion.Range) uint8 { return uint8(math.Round((r.Lo + r.Hi) / 2)) }
	return model.Colour{R: mid(l[0]), G: mid(l[1]), B: mid(l[2])}
}

// light shows a colour as a block, its brightness also by the character. The block
// stands on black: white light would be lost on a white background.
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
	return r, tcell.StyleDefault.Foreground(tcell.NewRGBColor(int32(c.R), int32(c.G), int32(c.B))).Background(tcell.ColorBlack)
}
