package model_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/designs"
)

// A comment at any element is written, read again, and taken away; nothing
// else changes.
func TestComment(t *testing.T) {
	d, err := model.Read("heron", designs.HarbourHeron)
	require.NoError(t, err)
	was := string(d.Format())
	var all []model.Elem
	for _, s := range []model.Sort{
		model.SortProp, model.SortRemote, model.SortButton, model.SortSupply, model.SortInput, model.SortOutput, model.SortTrack,
		model.SortRoutine, model.SortState, model.SortTransition, model.SortRequire,
	} {
		for i := range d.Len(s, 0) {
			all = append(all, model.Elem{Sort: s, Index: i})
		}
	}
	for j := range d.Len(model.SortCue, 0) {
		all = append(all, model.Elem{Sort: model.SortCue, Part: j})
	}
	for _, e := range all {
		const text = "what a hand wrote\n\n  on # three lines"
		c, err := d.WithComment(e, text)
		require.NoError(t, err, d.Title(e))
		assert.Equal(t, text, c.Comment(e), d.Title(e))
		again, err := model.Read("heron", c.Format())
		require.NoError(t, err, d.Title(e))
		assert.Equal(t, text, again.Comment(e), d.Title(e))
		back, err := again.WithComment(e, d.Comment(e))
		require.NoError(t, err)
		assert.Equal(t, was, string(back.Format()), d.Title(e))
	}
	assert.Equal(t, was, string(d.Format()), "the design itself is not changed")
}

func TestCommentsThatCannotBe(t *testing.T) {
	d, err := model.Read("heron", designs.HarbourHeron)
	require.NoError(t, err)
	for _, c := range []struct {
		at         model.Elem
		text, want string
	}{
		{model.Elem{Sort: model.SortState, Index: 99}, "x", "there is no such state"},
		{model.Elem{Sort: model.SortPose, Index: 0}, "x", "comment on its state"},
		{model.Elem{Sort: model.SortProp}, "a\x00b", "no control characters"},
		{model.Elem{Sort: model.SortProp}, "a\rb", "no control characters"},
	} {
		_, err := d.WithComment(c.at, c.text)
		assert.ErrorContains(t, err, c.want)
	}
	assert.Empty(t, d.Comment(model.Elem{Sort: model.SortState, Index: 99}))
}
