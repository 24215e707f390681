package chart

import (
	"bytes"
	"context"
	"fmt"
	"sync"

	"github.com/goccy/go-graphviz"
)

// Graphviz runs in one WebAssembly module of the process.
var graphvizInUse sync.Mutex

// layout lets Graphviz find the places and gives its SVG.
func layout(dot []byte) (_ []byte, err error) {
	graphvizInUse.Lock()
	defer graphvizInUse.Unlock()
	ctx := context.Background()
	g, err := graphviz.New(ctx)
	if err != nil {
		return nil, fmt.Errorf("Graphviz does not start: %w", err)
	}
	defer g.Close()
	graph, err := graphviz.ParseBytes(dot)
	if err != nil {
		return nil, fmt.Errorf("Graphviz does not take the chart: %w", err)
	}
	defer graph.Close()
	var b bytes.Buffer
	if err := g.Render(ctx, graph, graphviz.SVG, &b); err != nil {
		return nil, fmt.Errorf("Graphviz cannot lay the chart out: %w", err)
	}
	return b.Bytes(), nil
}
