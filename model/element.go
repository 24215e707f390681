package model

import (
	"fmt"
	"slices"
	"strings"
)

// Sort is the kind of an element, as its header in a design file calls it. Drifts
// and poses, which have no header, are named like keys of their state.
type Sort string

const (
	SortProp       Sort = "prop"
	SortRemote     Sort = "remote"
	SortButton     Sort = "remote.button"
	SortSupply     Sort = "supply"
	SortInput      Sort = "input"
	SortOutput     Sort = "output"
	SortMessage    Sort = "output.message"
	SortTrack      Sort = "track"
	SortRoutine    Sort = "routine"
	SortCue        Sort = "routine.cue"
	SortState      Sort = "state"
	SortPose       Sort = "state.pose"
	SortDrift      Sort = "state.drift"
	SortTransition Sort = "transition"
	SortRequire    Sort = "require"
)

// An Elem is an element's place in a Design: its sort and its index in the
// list of that sort; for a message, a cue, a pose or a drift, Index is its
// output's, routine's or state's, and Part its own index there. An Elem holds
// for the design that it was made for, and for what Read gives of its Format.
type Elem struct {
	Sort  Sort
	Index int
	Part  int
}

// Parent is the sort of the element that a sort belongs to, "" where it
// belongs to the design itself.
func (s Sort) Parent() Sort {
	switch s {
	case SortMessage:
		return SortOutput
	case SortCue:
		return SortRoutine
	case SortPose, SortDrift:
		return SortState
	}
	return ""
}

// Noun is the sort in a sentence, for example "button" or "cue".
func (s Sort) Noun() string {
	switch s {
	case SortProp, SortRemote, SortSupply:
		return string(s)
	case SortRequire:
		return "requirement"
	}
	return string(s[strings.LastIndexByte(string(s), '.')+1:])
}

// Len is the number of elements of a sort; for a part, of those of the
// parent with the index given. Of prop, remote and supply there is one.
func (d *Design) Len(s Sort, parent int) int {
	switch s {
	case SortProp, SortRemote, SortSupply:
		return 1
	case SortButton:
		return len(d.Remote.Buttons)
	case SortInput:
		return len(d.Inputs)
	case SortOutput:
		return len(d.Outputs)
	case SortTrack:
		return len(d.Tracks)
	case SortRoutine:
		return len(d.Routines)
	case SortState:
		return len(d.States)
	case SortTransition:
		return len(d.Transitions)
	case SortRequire:
		return len(d.Requires)
	}
	if s.Parent() == "" || parent < 0 || parent >= d.Len(s.Parent(), 0) {
		return 0
	}
	switch s {
	case SortMessage:
		return len(d.Outputs[parent].Messages)
	case SortCue:
		return len(d.Routines[parent].Cues)
	case SortPose:
		return len(d.States[parent].Pose)
	default:
		return len(d.States[parent].Drift)
	}
}

// Has reports whether the design has the element.
func (d *Design) Has(e Elem) bool {
	if e.Sort.Parent() != "" {
		return 0 <= e.Part && e.Part < d.Len(e.Sort, e.Index)
	}
	return e.Part == 0 && 0 <= e.Index && e.Index < d.Len(e.Sort, 0)
}

// Find gives the element of a sort and a name; of messages those of all
// outputs are looked at, the first found counts.
func (d *Design) Find(s Sort, name string) (Elem, bool) {
	for i := range max(d.Len(s, 0), d.Len(s.Parent(), 0)) {
		if s.Parent() == "" {
			if e := (Elem{Sort: s, Index: i}); d.Name(e) == name {
				return e, true
			}
			continue
		}
		for j := range d.Len(s, i) {
			if e := (Elem{s, i, j}); d.Name(e) == name {
				return e, true
			}
		}
	}
	return Elem{}, false
}

// Name is an element's name; of a pose and a drift it is the output's. Other
// elements have none.
func (d *Design) Name(e Elem) string {
	if !d.Has(e) {
		return ""
	}
	switch e.Sort {
	case SortProp:
		return d.Prop.Name
	case SortButton:
		return d.Remote.Buttons[e.Index].Name
	case SortInput:
		return d.Inputs[e.Index].Name
	case SortOutput:
		return d.Outputs[e.Index].Name
	case SortMessage:
		return d.Outputs[e.Index].Messages[e.Part].Name
	case SortTrack:
		return d.Tracks[e.Index].Name
	case SortRoutine:
		return d.Routines[e.Index].Name
	case SortState:
		return d.States[e.Index].Name
	case SortPose:
		return d.States[e.Index].Pose[e.Part].Output
	case SortDrift:
		return d.States[e.Index].Drift[e.Part].Output
	}
	return ""
}

// Title says which element it is, in a sentence: "state watch", "the cue of
// greet at 200ms", "the transition from watch on press one".
func (d *Design) Title(e Elem) string {
	if !d.Has(e) {
		return "no " + e.Sort.Noun()
	}
	switch e.Sort {
	case SortProp, SortRemote, SortSupply:
		return "the " + e.Sort.Noun()
	case SortCue:
		r := &d.Routines[e.Index]
		return fmt.Sprintf("the cue of %s at %s", r.Name, FormatDuration(r.Cues[e.Part].At))
	case SortPose, SortDrift:
		return fmt.Sprintf("the %s of %s in %s", e.Sort.Noun(), d.Name(e), d.States[e.Index].Name)
	case SortTransition:
		t := &d.Transitions[e.Index]
		return fmt.Sprintf("the transition from %s on %s", few(t.From), few(t.On))
	case SortRequire:
		return fmt.Sprintf("the requirement %q", d.Requires[e.Index].That)
	}
	return e.Sort.Noun() + " " + d.Name(e)
}

// few lists the first ones of a list.
func few[T fmt.Stringer](all []T) string {
	const most = 3
	var words []string
	for _, x := range all[:min(most, len(all))] {
		words = append(words, x.String())
	}
	if n := len(all) - most; n > 0 {
		words = append(words, fmt.Sprintf("%d more", n))
	}
	return strings.Join(words, ", ")
}

// ElemAt is the element that a place in the design's file belongs to: the
// last one that begins at it or before it. It is false where the design has
// no places or none is so early.
func (d *Design) ElemAt(p Pos) (Elem, bool) {
	var best Elem
	at := Pos{}
	d.each(func(e Elem, s *Source) {
		if s.Pos.IsValid() && !before(p, s.Pos) && !before(s.Pos, at) {
			best, at = e, s.Pos
		}
	})
	return best, at.IsValid()
}

func before(a, b Pos) bool {
	return a.Line < b.Line || a.Line == b.Line && a.Column < b.Column
}

// each visits every element, parents before their parts.
func (d *Design) each(visit func(Elem, *Source)) {
	visit(Elem{Sort: SortProp}, &d.Prop.Source)
	visit(Elem{Sort: SortRemote}, &d.Remote.Source)
	for i := range d.Remote.Buttons {
		visit(Elem{Sort: SortButton, Index: i}, &d.Remote.Buttons[i].Source)
	}
	visit(Elem{Sort: SortSupply}, &d.Supply.Source)
	for i := range d.Inputs {
		visit(Elem{Sort: SortInput, Index: i}, &d.Inputs[i].Source)
	}
	for i := range d.Outputs {
		visit(Elem{Sort: SortOutput, Index: i}, &d.Outputs[i].Source)
		for j := range d.Outputs[i].Messages {
			visit(Elem{SortMessage, i, j}, &d.Outputs[i].Messages[j].Source)
		}
	}
	for i := range d.Tracks {
		visit(Elem{Sort: SortTrack, Index: i}, &d.Tracks[i].Source)
	}
	for i := range d.Routines {
		visit(Elem{Sort: SortRoutine, Index: i}, &d.Routines[i].Source)
		for j := range d.Routines[i].Cues {
			visit(Elem{SortCue, i, j}, &d.Routines[i].Cues[j].Source)
		}
	}
	for i := range d.States {
		visit(Elem{Sort: SortState, Index: i}, &d.States[i].Source)
		for j := range d.States[i].Pose {
			visit(Elem{SortPose, i, j}, &d.States[i].Pose[j].Source)
		}
		for j := range d.States[i].Drift {
			visit(Elem{SortDrift, i, j}, &d.States[i].Drift[j].Source)
		}
	}
	for i := range d.Transitions {
		visit(Elem{Sort: SortTransition, Index: i}, &d.Transitions[i].Source)
	}
	for i := range d.Requires {
		visit(Elem{Sort: SortRequire, Index: i}, &d.Requires[i].Source)
	}
}

// opened is a copy of the design in which the element e may be changed; all
// else is shared with d.
func (d *Design) opened(e Elem) *Design {
	c := *d
	switch e.Sort {
	case SortButton:
		c.Remote.Buttons = slices.Clone(d.Remote.Buttons)
	case SortInput:
		c.Inputs = slices.Clone(d.Inputs)
	case SortOutput, SortMessage:
		c.Outputs = slices.Clone(d.Outputs)
		if o := &c.Outputs[e.Index]; e.Sort == SortMessage {
			o.Messages = slices.Clone(o.Messages)
		}
	case SortTrack:
		c.Tracks = slices.Clone(d.Tracks)
	case SortRoutine, SortCue:
		c.Routines = slices.Clone(d.Routines)
		if r := &c.Routines[e.Index]; e.Sort == SortCue {
			r.Cues = slices.Clone(r.Cues)
		}
	case SortState, SortPose, SortDrift:
		c.States = slices.Clone(d.States)
		switch s := &c.States[e.Index]; e.Sort {
		case SortPose:
			s.Pose = slices.Clone(s.Pose)
		case SortDrift:
			s.Drift = slices.Clone(s.Drift)
		}
	case SortTransition:
		c.Transitions = slices.Clone(d.Transitions)
	case SortRequire:
		c.Requires = slices.Clone(d.Requires)
	}
	return &c
}
