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
		return nil, fmt.Errorf("the chart cannot be laid out, Graphviz does not start: %w", err)
	}
	defer g.Close()
	graph, err := graphviz.ParseBytes(dot)
	if err != nil {
		return nil, fmt.Errorf("the chart cannot be laid out, Graphviz does not take it: %w", err)
	}
	defer graph.Close()
	var b bytes.Buffer
	if err := g.Render(ctx, graph, graphviz.SVG, &b); err != nil {
		return nil, fmt.Errorf("the chart cannot be laid out: %w", err)
	}
	return b.Bytes(), nil
}
