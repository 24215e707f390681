package edit

import (
	"fmt"
	"slices"
	"strings"

	"propwright/model"
)

// usersOf lists the elements that mention one by name, in file order. A
// message is named by its output and its own name, with a dot between.
func usersOf(d *model.Design, sort model.Sort, name string) []model.Elem {
	var users []model.Elem
	add := func(s model.Sort, i, part int) { users = append(users, model.Elem{Sort: s, Index: i, Part: part}) }
	if sort == model.SortButton && d.Remote.Stop == name {
		add(model.SortRemote, 0, 0)
	}
	output, message, _ := strings.Cut(name, ".")
	for i := range d.Tracks {
		mentions := func(p model.Play) bool {
			return sort == model.SortOutput && p.Output == name || sort == model.SortMessage && p.Output == output && p.Value == message
		}
		if mentions(d.Tracks[i].Play) || mentions(d.Tracks[i].Silencer()) {
			add(model.SortTrack, i, 0)
		}
	}
	for i := range d.Routines {
		for j, c := range d.Routines[i].Cues {
			if sort == model.SortOutput && c.Output == name || sort == model.SortTrack && c.Track == name ||
				sort == model.SortMessage && c.Output == output && c.Send == message {
				add(model.SortCue, i, j)
			}
		}
	}
	for i := range d.States {
		s := &d.States[i]
		if sort == model.SortRoutine && s.Plays == name {
			add(model.SortState, i, 0)
		}
		for j := range s.Pose {
			if sort == model.SortOutput && s.Pose[j].Output == name {
				add(model.SortPose, i, j)
			}
		}
		for j := range s.Drift {
			if sort == model.SortOutput && s.Drift[j].Output == name {
				add(model.SortDrift, i, j)
			}
		}
	}
	for i := range d.Transitions {
		if usesName(&d.Transitions[i], sort, name) {
			add(model.SortTransition, i, 0)
		}
	}
	for i := range d.Requires {
		if mentionsOf(d.Requires[i].That, sort, name) {
			add(model.SortRequire, i, 0)
		}
	}
	return users
}

func usesName(t *model.Transition, sort model.Sort, name string) bool {
	if sort == model.SortState {
		return t.To == name || slices.ContainsFunc(t.From, func(f model.From) bool { return f.State == name })
	}
	return slices.ContainsFunc(t.On, func(on model.Trigger) bool { return waitsFor(on, sort, name) })
}

// waitsFor reports whether a trigger is one of a button or an input.
func waitsFor(on model.Trigger, sort model.Sort, name string) bool {
	switch on.Kind {
	case model.Press, model.Hold, model.Release:
		return sort == model.SortButton && on.Name == name
	case model.Rise, model.Fall:
		return sort == model.SortInput && on.Name == name
	}
	return false
}

// usedName is an element's name as usersOf takes it.
func usedName(d *model.Design, at model.Elem) string {
	if at.Sort == model.SortMessage {
		return d.Outputs[at.Index].Name + "." + d.Name(at)
	}
	return d.Name(at)
}

// Users lists the elements that mention one by name, in file order.
func Users(d *model.Design, at model.Elem) []model.Elem {
	if !d.Has(at) || !at.Sort.Named() {
		return nil
	}
	return usersOf(d, at.Sort, usedName(d, at))
}

// listed names elements in a sentence, of many the first few.
func listed(d *model.Design, at []model.Elem) string {
	const most = 3
	var words []string
	for _, e := range at[:min(most, len(at))] {
		words = append(words, d.Title(e))
	}
	if n := len(at) - most; n > 0 {
		words = append(words, fmt.Sprintf("%d more", n))
	}
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}
