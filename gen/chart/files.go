package chart

import (
	"propwright/gen"
	"propwright/model"
)

// Files gives the chart of a build.
func Files(d *model.Design) ([]gen.File, error) {
	c, err := New(d, View{})
	if err != nil {
		return nil, err
	}
	svg, err := c.SVG()
	if err != nil {
		return nil, err
	}
	return []gen.File{{Path: "chart.svg", Text: svg}}, nil
}
