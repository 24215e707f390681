package model

import (
	"slices"
	"strings"
	"sync"
)

// A KeyDoc is what there is to know of one key of a sort of element.
type KeyDoc struct {
	Sort Sort
	// Kinds are those of the outputs of which, or for which, elements have the
	// key so; nil where all elements of the sort do.
	Kinds   []OutputKind
	Key     string
	Meaning string
	Holds   string   // what the key may hold, in words
	Forms   []string // as KeyValue.Forms
	Example string   // a value, as a file has it
	Default string   // as KeyValue.Default
	Need    bool     // the file must state it
}

// Schema lists the keys of all elements in the order of a file. A key that
// outputs of different kinds have in different ways is there once for each. The
// list is not to be changed.
func Schema() []KeyDoc { return schema() }

var schema = sync.OnceValue(func() (docs []KeyDoc) {
	for _, row := range sorts {
		first := len(docs)
		kinds := 0
		for _, kind := range OutputKinds {
			d := specimen(kind)
			e := row.sort.At(0, 0)
			if !d.Has(e) {
				continue
			}
			kinds++
			for _, f := range d.fieldsAt(e, &reader{design: d}) {
				doc := KeyDoc{
					Sort: row.sort, Kinds: []OutputKind{kind}, Key: f.key, Meaning: f.meaning, Holds: f.holds(),
					Forms: f.forms, Example: f.example, Default: f.first(), Need: f.need,
				}
				if i := slices.IndexFunc(docs[first:], doc.says); i >= 0 {
					docs[first+i].Kinds = append(docs[first+i].Kinds, kind)
				} else {
					docs = append(docs, doc)
				}
			}
		}
		for i := range docs[first:] {
			if doc := &docs[first+i]; len(doc.Kinds) == kinds {
				doc.Kinds = nil
			}
		}
	}
	return docs
})

// says reports whether two keys differ in their kinds alone.
func (k KeyDoc) says(other KeyDoc) bool {
	return k.Key == other.Key && k.Meaning == other.Meaning && k.Holds == other.Holds &&
		k.Example == other.Example && k.Default == other.Default && k.Need == other.Need
}

// specimen is a design with one element of every sort that an output of the
// kind can have; all that can be for an output are for that one.
func specimen(kind OutputKind) *Design {
	d := &Design{
		Remote:      Remote{Buttons: make([]Button, 1)},
		Inputs:      make([]Input, 1),
		Events:      make([]Event, 1),
		Outputs:     []Output{{Name: "a", Kind: kind}},
		Tracks:      make([]Track, 1),
		Routines:    []Routine{{Cues: []Cue{{Output: "a"}}}},
		States:      make([]State, 1),
		Transitions: make([]Transition, 1),
		Requires:    make([]Require, 1),
	}
	if kind.HasMessages() {
		d.Outputs[0].Messages = make([]Message, 1)
	}
	if kind.Poses() {
		d.States[0].Pose = []Pose{{Output: "a"}}
	}
	d.Transitions[0].Do = []Order{{Output: "a"}}
	if kind.Drifts() {
		d.States[0].Drift = []Drift{{Output: "a"}}
	}
	return d
}

// In says which elements have the key, for example "output (servo, spinner)".
func (k KeyDoc) In() string {
	if k.Kinds == nil {
		return k.Sort.Noun()
	}
	return k.Sort.Noun() + " (" + strings.Join(texts(k.Kinds), ", ") + ")"
}

// Owners lists the words that stand for the element before a dot and the key:
// its header, its noun, and the kinds of output.
func (k KeyDoc) Owners() []string {
	words := []string{string(k.Sort), k.Sort.Noun()}
	kinds := k.Kinds
	if kinds == nil && k.Sort == SortOutput {
		kinds = OutputKinds
	}
	return append(words, texts(kinds)...)
}
