package model

import (
	"strings"

	"propwright/model/tomltree"
)

// shown is a field's value as a person types it.
func shown(f field) string {
	toml := f.write()
	if f.words != nil && !f.unset() {
		if said := f.words.say(); f.words.toml(said) == toml {
			return said
		}
	}
	v := tomltree.ParseValue(toml)
	switch {
	case v == nil:
	case v.Kind == tomltree.Text:
		if again := tomltree.ParseValue(v.Text); again != nil && again.Kind == tomltree.Text || v.Text != strings.TrimSpace(v.Text) {
			return toml // typed without quotes it would be another text
		}
		return v.Text
	case v.Kind == tomltree.TableValue && len(v.Table.Entries) == 0:
		return ""
	case v.Kind == tomltree.Array:
		words := make([]string, len(v.Items))
		for i, item := range v.Items {
			if item.Kind != tomltree.Text || strings.Contains(item.Text, ",") {
				return toml
			}
			words[i] = item.Text
		}
		return strings.Join(words, ", ")
	}
	return toml
}

// readValue reads what a person typed into a field: as the file would have
// it, or without quotes and brackets. What the field refuses in every form is
// a *ValueError.
func readValue(r *reader, f field, typed string) error {
	typed = strings.TrimSpace(typed)
	plain := &value{Kind: tomltree.Text, Text: typed}
	forms := []*value{plain}
	told := 0 // the form whose fault is told
	v, worded := tomltree.ParseValue(typed), ""
	if f.words != nil && (v == nil || v.Kind == tomltree.Boolean || v.Kind == tomltree.Integer) { // an output can be called true
		worded = f.words.toml(typed)
	}
	switch {
	case worded != "":
		forms[0] = tomltree.ParseValue(worded)
	case v != nil:
		forms = []*value{v, plain}
		if v.Kind == tomltree.Boolean {
			told = 1 // a word like any other where true and false mean nothing
		}
	}
	if list := listOf(typed); list != nil && worded == "" {
		forms = append(forms, list)
		if f.list {
			told = len(forms) - 1
		}
	}
	var err error
	for i, v := range forms {
		f.clear()
		r.faults = nil
		f.read(r, v)
		if len(r.faults) == 0 {
			return nil
		}
		if i == told {
			e := ValueError{r.faults[0].Wrong, r.faults[0].Advice, r.faults[0].Instead}
			if v.Kind == tomltree.Array || v.Kind == tomltree.TableValue {
				e.Instead = "" // it is of a part
			}
			err = &e
		}
	}
	return err
}

// listOf is a list of the texts between commas, nil where there is no comma.
func listOf(s string) *value {
	if !strings.Contains(s, ",") {
		return nil
	}
	list := &value{Kind: tomltree.Array}
	for word := range strings.SplitSeq(s, ",") {
		if word = strings.TrimSpace(word); word != "" {
			list.Items = append(list.Items, &value{Kind: tomltree.Text, Text: word})
		}
	}
	return list
}
