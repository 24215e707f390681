package model

import "strings"

// shown is a field's value as a person types it.
func shown(f field) string {
	toml := f.write()
	v := tomlValue(toml)
	switch {
	case v == nil:
	case v.kind == text:
		if again := tomlValue(v.text); again != nil && again.kind == text || v.text != strings.TrimSpace(v.text) {
			return toml // typed without quotes it would be another text
		}
		return v.text
	case v.kind == tableValue && len(v.table.entries) == 0:
		return ""
	case v.kind == array:
		words := make([]string, len(v.items))
		for i, item := range v.items {
			if item.kind != text || strings.Contains(item.text, ",") {
				return toml
			}
			words[i] = item.text
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
	plain := &value{kind: text, text: typed}
	forms := []*value{plain}
	told := 0 // the form whose fault is told
	if v := tomlValue(typed); v != nil {
		forms = []*value{v, plain}
		if v.kind == boolean {
			told = 1 // a word like any other where true and false mean nothing
		}
	}
	if list := listOf(typed); list != nil {
		forms = append(forms, list)
		if f.key == "from" || f.key == "on" || f.key == "between" {
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
			err = &ValueError{r.faults[0].Wrong, r.faults[0].Advice}
		}
	}
	return err
}

// tomlValue is a text as a TOML value without a place, nil where it is none.
func tomlValue(s string) *value {
	var faults Faults
	root, _, _, whole := parseTOML("", []byte("v = "+s+"\n"), &faults)
	if !whole || len(faults) > 0 || len(root.entries) != 1 || root.entries[0].key != "v" {
		return nil
	}
	v := root.entries[0].value
	v.unplace()
	return v
}

// unplace takes away the places of a value that stands in no file.
func (v *value) unplace() {
	v.pos = Pos{}
	for _, item := range v.items {
		item.unplace()
	}
	if v.table != nil {
		v.table.Pos = Pos{}
		for _, e := range v.table.entries {
			e.pos = Pos{}
			e.value.unplace()
		}
	}
}

// listOf is a list of the texts between commas, nil where there is no comma.
func listOf(s string) *value {
	if !strings.Contains(s, ",") {
		return nil
	}
	list := &value{kind: array}
	for word := range strings.SplitSeq(s, ",") {
		if word = strings.TrimSpace(word); word != "" {
			list.items = append(list.items, &value{kind: text, text: word})
		}
	}
	return list
}
