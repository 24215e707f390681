package chart

import (
	"fmt"
	"math"
)

// Charts with more arrows are drawn in a third of a second too; the limits are
// what people can follow (looked at in pictures of random designs).
const (
	mostLabels = 120 // arrows with words at them
	mostArrows = 400

	// Where arrows with words are many for the boxes that they lead between,
	// the words are found sooner in the boxes.
	crowdedLabels = 40
	labelsPerBox  = 2
)

// thin puts the words of a chart that has too many arrows into its boxes, and
// leaves the arrows out where even so there are too many.
func (c *Chart) thin() {
	labelled := 0
	for _, a := range c.Arrows {
		if a.Line < 0 {
			labelled++
		}
	}
	crowded := labelled > crowdedLabels && labelled > labelsPerBox*len(c.Boxes)
	if !crowded && labelled <= mostLabels && len(c.Arrows) <= mostArrows {
		return
	}
	c.dense = true
	number := map[string]int{}
	for i, x := range c.Boxes {
		number[x.ID] = i
	}
	for i := range c.Arrows {
		a := &c.Arrows[i]
		if a.Line >= 0 {
			continue
		}
		x := &c.Boxes[number[a.From]]
		a.Labels = nil
		if n := len(x.Lines) - 1; a.Choice == "" || x.Lines[n].Text != a.text {
			x.Lines = append(x.Lines, Line{Text: a.text, Mark: a.Mark})
		}
	}
	if len(c.Arrows) <= mostArrows {
		return
	}
	c.Legend = append(c.Legend, Key{Text: fmt.Sprintf("%d arrows are too many to draw: each box lists its own; --state and --button draw a part", len(c.Arrows))})
	c.Arrows = nil
	// Boxes without arrows are in rows, to be read like a page.
	c.rows = true
	for i := range c.Boxes {
		if x := &c.Boxes[i]; x.Start {
			x.Lines = append(x.Lines, Line{Text: "power-up leads here"})
		}
	}
}

// columns returns how many boxes there are in a row.
func (c *Chart) columns() int { return int(math.Ceil(math.Sqrt(float64(len(c.Boxes)) / 2))) }
