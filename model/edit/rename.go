package edit

import (
	"fmt"

	"propwright/model"
)

// Rename gives an element another name, also wherever it is mentioned.
func (f *Draft) Rename(at model.Elem, name string) error {
	d := f.design
	if d.Has(at) && at.Sort != model.SortProp && !at.Sort.Named() {
		return fmt.Errorf("%s has no name of its own", d.Title(at))
	}
	n, err := d.Renamed(at, name)
	if err != nil {
		return err
	}
	if err := free(d, at, n.Name(at)); err != nil {
		return err
	}
	f.commit(fmt.Sprintf("rename %s %s to %s", at.Sort.Noun(), d.Name(at), n.Name(at)), n)
	return nil
}

// free refuses a name that another element of the sort has, or none can have.
func free(d *model.Design, at model.Elem, name string) error {
	if at.Sort == model.SortState && (name == model.Any || name == model.Back) {
		return fmt.Errorf("%q cannot be a state's name: the word has its own meaning; choose another", name)
	}
	if !at.Sort.Named() {
		return nil
	}
	parent, _ := at.Place()
	for i := range d.Len(at.Sort, parent) {
		if other := at.Sort.At(parent, i); other != at && d.Name(other) == name {
			return fmt.Errorf("%s %s is there already; choose another name", at.Sort.Noun(), name)
		}
	}
	return nil
}
