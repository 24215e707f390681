package edit

import (
	"fmt"

	"propwright/model"
)

// Set gives one key of an element another value, written as model.KeyValue
// has it or as in the file; "" takes the key away. A new `name` is a Rename.
// An output that something uses cannot become one of another kind.
func (f *Draft) Set(at model.Elem, key, value string) error {
	d := f.design
	if key == "name" && d.Has(at) && at.Sort.Named() {
		return f.Rename(at, value)
	}
	if at.Sort == model.SortOutput && key == "kind" && d.Has(at) && value != d.Value(at, key) {
		if users := d.Users(at); len(users) > 0 {
			titles := make([]string, len(users))
			for i, user := range users {
				titles[i] = d.Title(user)
			}
			return fmt.Errorf("%s is used by %s; add a new output, or delete these first", d.Title(at), model.AndList(titles, 3))
		}
	}
	n, err := d.With(at, key, value)
	if err != nil {
		return err
	}
	label := fmt.Sprintf("set %s of %s", key, d.Title(at))
	if value == "" {
		label = fmt.Sprintf("clear %s of %s", key, d.Title(at))
	}
	f.commit(label, n)
	return nil
}

// Comment gives an element another comment, "" for none.
func (f *Draft) Comment(at model.Elem, text string) error {
	d := f.design
	n, err := d.WithComment(at, text)
	if err != nil {
		return err
	}
	f.commit("comment on "+d.Title(at), n)
	return nil
}
