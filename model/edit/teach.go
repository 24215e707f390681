package edit

import (
	"errors"
	"fmt"
	"slices"

	"propwright/model"
	"propwright/model/ir"
)

// Codes lists the buttons of a design whose codes can be read, but for those
// named.
func Codes(d *model.Design, but ...string) []ir.Named {
	var codes []ir.Named
	for i := range d.Remote.Buttons {
		b := &d.Remote.Buttons[i]
		if c, err := ir.ParseCode(b.Code); err == nil && !slices.Contains(but, b.Name) {
			codes = append(codes, ir.Named{Name: b.Name, Code: c})
		}
	}
	return codes
}

// Teach gives buttons their codes, and adds those that are new: all in one
// step, or none. Where one is sent again whole, so are those of the remote. A code that may be taken for another button's is refused.
func (f *Draft) Teach(buttons ...ir.Named) error {
	names := make([]string, len(buttons))
	for i, b := range buttons {
		names[i] = b.Name
	}
	var known ir.Index
	for _, k := range Codes(f.design, names...) {
		known.Add(k)
	}
	label := fmt.Sprintf("learn %d buttons", len(buttons))
	if len(buttons) == 1 {
		label = "learn button " + names[0]
	}
	return f.Together(label, func() error {
		for _, b := range buttons {
			if k, clash := known.Find(b.Code); clash {
				return fmt.Errorf("%q (%s) sends what %q (%s) sends; take only one of them over", b.Name, b.Code, k.Name, k.Code)
			}
			known.Add(b)
			if b.Code.Resent && f.design.Remote.Repeat != model.RepeatFrame {
				if err := f.Set(model.Elem{Sort: model.SortRemote}, "repeat", string(model.RepeatFrame)); err != nil {
					return err
				}
			}
			if at, there := f.design.Find(model.SortButton, b.Name); there {
				if err := errors.Join(f.Set(at, "code", b.Code.String()), f.Set(at, "learned", "")); err != nil {
					return err
				}
				continue
			}
			at := model.Elem{Sort: model.SortButton, Index: len(f.design.Remote.Buttons)}
			if _, err := f.Add(at, Key{Key: "name", Value: b.Name}, Key{Key: "code", Value: b.Code.String()}); err != nil {
				return err
			}
		}
		return nil
	})
}
