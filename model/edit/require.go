package edit

import (
	"slices"
	"strings"

	"propwright/model"
)

// A mention is a name in the text of a requirement: words[at:] of it.
type mention struct {
	sort model.Sort // state, button or input
	name string
	from int // byte offset in the text
}

// mentions finds the names in a requirement's text, whose forms are
// `reachable STATE`, `never STATE|KIND within T after EVENT`, `STATE|KIND
// within T after EVENT` and `from STATE press A, B, C ends in STATE`. What is
// of no such form mentions nothing.
func mentions(that string) []mention {
	words := split(that)
	state := func(w word) []mention {
		if slices.Contains(model.StateKinds, model.StateKind(w.text)) {
			return nil
		}
		return []mention{{model.SortState, w.text, w.from}}
	}
	text := func(i int) string {
		if i < len(words) {
			return words[i].text
		}
		return ""
	}
	switch {
	case text(0) == "reachable" && len(words) == 2:
		return state(words[1])
	case text(0) == "from" && text(2) == "press":
		end := slices.IndexFunc(words, func(w word) bool { return w.text == "ends" })
		if end < 4 || text(end+1) != "in" || len(words) != end+3 {
			return nil
		}
		ms := state(words[1])
		for _, w := range words[3:end] {
			ms = append(ms, mention{model.SortButton, w.text, w.from})
		}
		return append(ms, state(words[end+2])...)
	}
	if text(0) == "never" {
		words = words[1:]
	}
	if text(1) != "within" || text(3) != "after" || len(words) < 5 {
		return nil
	}
	return append(state(words[0]), eventMentions(words[4:])...)
}

func eventMentions(words []word) []mention {
	if len(words) < 2 {
		return nil
	}
	switch words[0].text {
	case "press", "hold", "release":
		return []mention{{model.SortButton, words[1].text, words[1].from}}
	case "rise", "fall":
		return []mention{{model.SortInput, words[1].text, words[1].from}}
	}
	return nil
}

// A word of a text, without a comma behind it.
type word struct {
	text string
	from int // byte offset
}

func split(s string) []word {
	var words []word
	for i := 0; i < len(s); {
		n := strings.IndexAny(s[i:], " \t,")
		if n < 0 {
			n = len(s) - i
		}
		if n > 0 {
			words = append(words, word{s[i : i+n], i})
		}
		i += n + 1
	}
	return words
}

// mentionsOf reports whether a requirement mentions an element.
func mentionsOf(that string, sort model.Sort, name string) bool {
	return slices.ContainsFunc(mentions(that), func(m mention) bool { return m.sort == sort && m.name == name })
}

// remention puts another name in place of an element's.
func remention(that string, sort model.Sort, name, to string) string {
	ms := mentions(that)
	for i := len(ms) - 1; i >= 0; i-- {
		if m := ms[i]; m.sort == sort && m.name == name {
			that = that[:m.from] + to + that[m.from+len(name):]
		}
	}
	return that
}
