package editor

import (
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

// offers lists what a key may name, where that is more than its choices: for
// a list, what each of it may be.
func offers(d *model.Design, sort model.Sort, key string) []string {
	if sort != model.SortTransition {
		return nil
	}
	var all []string
	add := func(words ...string) { all = append(all, strings.Join(words, " ")) }
	switch key {
	case "from":
		for i := range d.States {
			add(d.States[i].Name)
		}
		add(model.Any)
		for _, kind := range model.StateKinds {
			add(model.Any, string(kind))
		}
	case "on":
		for i := range d.Remote.Buttons {
			name := d.Remote.Buttons[i].Name
			add("press", name)
			add("release", name)
			add("hold", name, "for 800ms")
		}
		for i := range d.Inputs {
			add("rise", d.Inputs[i].Name)
			add("fall", d.Inputs[i].Name)
		}
		add("done")
	}
	return all
}

// completed is a list with each way to end its last word.
func completed(text string, all []string) []string {
	head, last := "", text
	if i := strings.LastIndexByte(text, ','); i >= 0 {
		head, last = text[:i+1]+" ", text[i+1:]
	}
	var out []string
	for _, s := range pane.Matches(last, all) {
		out = append(out, head+s)
	}
	return out
}
