package chart

import (
	"propwright/gen"
	"propwright/model/check"
)

// Files returns the chart of a build.
func Files(s *check.Study) ([]gen.File, error) {
	c, err := New(s.Design, View{})
	if err != nil {
		return nil, err
	}
	svg, err := c.SVG()
	if err != nil {
		return nil, err
	}
	return []gen.File{{Path: "chart.svg", Text: svg}}, nil
}
