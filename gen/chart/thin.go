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
	if labelled <= mostLabels && len(c.Arrows) <= mostArrows {
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
	// Boxes without arrows stand in columns of as many as make a square.
	c.Follows = nil
	tall := int(math.Ceil(math.Sqrt(2 * float64(len(c.Boxes)))))
	for i := tall; i < len(c.Boxes); i++ {
		c.Follows = append(c.Follows, [2]string{c.Boxes[i-tall].ID, c.Boxes[i].ID})
	}
}
