package edit_test

import (
	"testing"

	"propwright/model"
	"propwright/model/designs/many"
	"propwright/model/edit"

	"github.com/stretchr/testify/require"
)

// BenchmarkMany is what a maker waits for in a design of 10,000 states and of
// 100,000 transitions.
func BenchmarkMany(b *testing.B) {
	d := many.Defers(500, 10, 10)
	state := model.Elem{Sort: model.SortState, Index: 5000}
	transition := model.Elem{Sort: model.SortTransition, Index: 5000}
	text := d.Format()
	for _, c := range []struct {
		name string
		run  func() error
	}{
		{"keys of a state", func() error { d.Keys(state); return nil }},
		{"keys of a transition", func() error { d.Keys(transition); return nil }},
		{"value", func() error { d.Value(transition, "to"); return nil }},
		{"set", func() error { return edit.New(d).Set(transition, "to", "s7") }},
		{"users", func() error { d.Users(state); return nil }},
		{"rename", func() error { return edit.New(d).Rename(state, "watch") }},
		{"rename button", func() error { return edit.New(d).Rename(model.Elem{Sort: model.SortButton, Index: 3}, "wake") }},
		{"delete", func() error { return edit.New(d).Delete(state) }},
		{"format", func() error { d.Format(); return nil }},
		{"read", func() error { _, err := model.Read("many", text); return err }},
		{"place", func() error { d.ElemAt(model.Pos{Line: 7, Column: 1}); return nil }},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				require.NoError(b, c.run())
			}
		})
	}
}
