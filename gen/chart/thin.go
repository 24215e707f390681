package chart

import (
	"fmt"
	"math"
	"strconv"
)

// Graphviz gives every word at an arrow a place of its own, and its time grows
// with the square of these places and with the curves round them: 90 random
// arrows take a quarter of a second, 220 take nine. Straight and without
// words 300 arrows take a quarter of a second too. (Measured on charts drawn
// at random; those of real designs are quicker.)
const (
	mostLabels = 120 // arrows with words at them
	mostArrows = 400

	// Where arrows with words are many for the boxes that they lead between,
	// nobody can tell which words are whose (looked at in pictures).
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
		x.Lines = append(x.Lines, Line{Text: a.text, Mark: a.Mark})
	}
	if len(c.Arrows) <= mostArrows {
		return
	}
	c.Legend = append(c.Legend, fmt.Sprintf("%s arrows are too many to draw: each box lists its own; --state and --button draw a part", strconv.Itoa(len(c.Arrows))))
	c.Arrows = nil
	// Boxes without arrows stand in rows, to be read like a page.
	c.rows = true
	for i := range c.Boxes {
		if x := &c.Boxes[i]; x.Start {
			x.Lines = append(x.Lines, Line{Text: "power-up leads here"})
		}
	}
	c.Follows = nil
	wide := int(math.Ceil(math.Sqrt(float64(len(c.Boxes)) / 2)))
	for i := wide; i < len(c.Boxes); i++ {
		c.Follows = append(c.Follows, [2]string{c.Boxes[i-wide].ID, c.Boxes[i].ID})
	}
}
