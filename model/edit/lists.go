package edit

import (
	"slices"

	"propwright/model"
)

// edited gives a list in which change has changed some elements, and whether
// it has; the list itself stays as it is. change is given a copy and reports
// whether it changed that; slices inside it must not be written to.
func edited[T any](all []T, change func(*T) bool) ([]T, bool) {
	var out []T
	for i := range all {
		x := all[i]
		if !change(&x) {
			continue
		}
		if out == nil {
			out = slices.Clone(all)
		}
		out[i] = x
	}
	if out == nil {
		return all, false
	}
	return out, true
}

// kept gives the elements that keep accepts; the list itself stays as it is.
func kept[T any](all []T, keep func(*T) bool) []T {
	var out []T
	for i := range all {
		if keep(&all[i]) {
			out = append(out, all[i])
		}
	}
	return out
}

// inserted gives a list with x at an index.
func inserted[T any](all []T, i int, x T) []T {
	return slices.Insert(slices.Clone(all), i, x)
}

// removed gives a list without the element at an index.
func removed[T any](all []T, i int) []T {
	if len(all) == 1 {
		return nil
	}
	return slices.Delete(slices.Clone(all), i, i+1)
}

// moved gives a list in which the element at an index has another index.
func moved[T any](all []T, from, to int) []T {
	x := all[from]
	return slices.Insert(slices.Delete(slices.Clone(all), from, from+1), to, x)
}

// restate is the design with do done to the list that at stands in.
func restate(d *model.Design, at model.Elem, do listChange) *model.Design {
	c := *d
	i := at.Index
	switch at.Sort {
	case model.SortButton:
		c.Remote.Buttons = change(c.Remote.Buttons, i, do)
	case model.SortInput:
		c.Inputs = change(c.Inputs, i, do)
	case model.SortOutput:
		c.Outputs = change(c.Outputs, i, do)
	case model.SortTrack:
		c.Tracks = change(c.Tracks, i, do)
	case model.SortRoutine:
		c.Routines = change(c.Routines, i, do)
	case model.SortState:
		c.States = change(c.States, i, do)
	case model.SortTransition:
		c.Transitions = change(c.Transitions, i, do)
	case model.SortRequire:
		c.Requires = change(c.Requires, i, do)
	case model.SortMessage:
		c.Outputs = slices.Clone(c.Outputs)
		o := &c.Outputs[i]
		o.Messages = change(o.Messages, at.Part, do)
	case model.SortCue:
		c.Routines = slices.Clone(c.Routines)
		r := &c.Routines[i]
		r.Cues = change(r.Cues, at.Part, do)
	case model.SortPose:
		c.States = slices.Clone(c.States)
		s := &c.States[i]
		s.Pose = change(s.Pose, at.Part, do)
	case model.SortDrift:
		c.States = slices.Clone(c.States)
		s := &c.States[i]
		s.Drift = change(s.Drift, at.Part, do)
	}
	return &c
}

// A listChange is what is done to a list at an index.
type listChange struct {
	insert any // an element to put there
	remove bool
	move   bool
	to     int // with move
}

func change[T any](all []T, i int, do listChange) []T {
	switch {
	case do.remove:
		return removed(all, i)
	case do.move:
		return moved(all, i, do.to)
	}
	return inserted(all, i, do.insert.(T))
}
