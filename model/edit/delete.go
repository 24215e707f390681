package edit

import (
	"fmt"

	"propwright/model"
)

// Delete takes an element away, and with it what cannot be without it: see
// Takes.
func (f *Draft) Delete(at model.Elem) error {
	n, _, err := without(f.design, at)
	if err != nil {
		return err
	}
	f.commit("delete "+f.design.Title(at), n)
	return nil
}

// Takes says, in a line each, what else goes or changes when an element is
// deleted. The error says why it cannot be.
func Takes(d *model.Design, at model.Elem) ([]string, error) {
	_, takes, err := without(d, at)
	return takes, err
}

func without(d *model.Design, at model.Elem) (n *model.Design, takes []string, err error) {
	switch {
	case !d.Has(at):
		return nil, nil, fmt.Errorf("there is no such %s", at.Sort.Noun())
	case at.Sort == model.SortProp || at.Sort == model.SortRemote:
		return nil, nil, fmt.Errorf("every design has %s; it cannot be deleted", d.Title(at))
	case at.Sort == model.SortButton && d.Remote.Stop == d.Name(at):
		return nil, nil, fmt.Errorf("%s is the stop button; make another one the stop button first", d.Title(at))
	}
	n, takes = d.Without(at)
	return n, takes, nil
}
