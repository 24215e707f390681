package store

import (
	"errors"
	"slices"
	"strings"

	"propwright/model"
)

// load reads a design file, and returns the faults of what is not in the design. A file
// of which nothing could be read is not a design.
func load(name string) (*model.Design, model.Faults, error) {
	d, err := model.Load(name)
	var faults model.Faults
	if d == nil || !errors.As(err, &faults) {
		return d, nil, err
	}
	if d.Prop.Name == "" && len(d.Remote.Buttons)+len(d.Outputs)+len(d.States) == 0 {
		return nil, nil, err
	}
	text, readErr := model.ReadFile(name, model.MaxFileSize)
	if readErr != nil {
		return nil, nil, readErr
	}
	return d, unread(d, faults, string(text)), err
}

// unread lists those faults of a file's text that are about something which
// the design does not keep: reading what would be saved does not find them
// again, and it does not have their lines. (A fault about what is missing
// stands at a line that stays.)
func unread(d *model.Design, faults model.Faults, text string) model.Faults {
	saved := d.Format()
	var found model.Faults
	_, err := model.Read(d.File, saved)
	errors.As(err, &found)
	again := map[string]int{}
	for _, f := range found {
		again[f.Wrong]++
	}
	kept := strings.Split(string(saved), "\n")
	lines := strings.Split(text, "\n")
	var lost model.Faults
	for _, f := range faults {
		if again[f.Wrong]--; again[f.Wrong] >= 0 {
			continue
		}
		if n := f.Pos.Line; n < 1 || n > len(lines) || !slices.Contains(kept, strings.TrimSpace(lines[n-1])) {
			lost = append(lost, f)
		}
	}
	return lost
}
