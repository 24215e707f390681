package edit

import (
	"slices"

	"propwright/model"
)

// A Draft is a design under a maker's hands. Every edit makes a new
// *model.Design that shares with the one before what did not change; a design
// once given out is never changed again, so that any goroutine may read it.
// The Draft itself belongs to one goroutine.
//
// An edit that returns an error has changed nothing. Errors are in words for
// people.
type Draft struct {
	design *model.Design
	steps  []*step
	done   int    // steps[:done] are in the design, the others can be done again
	last   uint64 // the newest step's revision
	saved  uint64
}

// New begins a draft of a design, which counts as saved. The design must not
// be changed from then on.
func New(d *model.Design) *Draft { return &Draft{design: d} }

// Design is the design as it is now. It must not be changed.
func (f *Draft) Design() *model.Design { return f.design }

// Revision tells designs of one draft apart: the same number is the same
// design, also after undo and redo. It begins with 0.
func (f *Draft) Revision() uint64 {
	if f.done == 0 {
		return 0
	}
	return f.steps[f.done-1].revision
}

// Changed reports whether the design differs from the one last saved.
func (f *Draft) Changed() bool { return f.Revision() != f.saved }

// Saved notes that the design of a revision is the one in the file.
func (f *Draft) Saved(revision uint64) { f.saved = revision }

// Undo takes back the last edit and gives its label; false if there is none.
func (f *Draft) Undo() (label string, ok bool) {
	if f.done == 0 {
		return "", false
	}
	f.done--
	s := f.steps[f.done]
	f.design = s.apply(f.design, true)
	return s.label, true
}

// Redo does again the edit last undone and gives its label; false where there is
// none.
func (f *Draft) Redo() (label string, ok bool) {
	if f.done == len(f.steps) {
		return "", false
	}
	s := f.steps[f.done]
	f.done++
	f.design = s.apply(f.design, false)
	return s.label, true
}

// Undoable and Redoable are the labels of the edits that Undo and Redo would
// take, "" where there is none.
func (f *Draft) Undoable() string { return f.label(f.done - 1) }

// Redoable: see Undoable.
func (f *Draft) Redoable() string { return f.label(f.done) }

func (f *Draft) label(step int) string {
	if step < 0 || step >= len(f.steps) {
		return ""
	}
	return f.steps[step].label
}

// Together makes one step of all edits that do makes. Where do returns an
// error they are all taken back, and the error is returned.
func (f *Draft) Together(label string, do func() error) error {
	before, done := f.design, f.done
	undone := f.steps[done:len(f.steps):len(f.steps)]
	err := do()
	after := f.design
	f.design, f.done = before, done
	f.steps = append(f.steps[:done:done], undone...)
	if err != nil {
		return err
	}
	f.step(label, after)
	return nil
}

// Replace puts another design in place of this one as one step, for example
// one that was recovered.
func (f *Draft) Replace(label string, d *model.Design) { f.step(label, d) }

// commit makes d the design, as one step of an edit. The state that power-up
// enters stays what it was, where the edit has made another one dormant.
func (f *Draft) commit(label string, d *model.Design) {
	f.step(label, keepStart(f.design, d))
}

// step makes d the design. What was undone is forgotten. Where nothing changes
// there is no step.
func (f *Draft) step(label string, d *model.Design) {
	s := newStep(f.design, d)
	if len(s.changes) == 0 {
		return
	}
	f.last++
	s.label, s.revision = label, f.last
	f.steps = append(f.steps[:f.done:f.done], s)
	f.done++
	f.design = s.apply(f.design, false)
}

// keepStart marks the one dormant state of a design as the one to start in,
// where now has several and none is marked.
func keepStart(was, now *model.Design) *model.Design {
	start := was.Start()
	if start < 0 || was.States[start].Start || now.Start() >= 0 {
		return now
	}
	for i := range now.States {
		if s := now.States[i]; s.Kind == model.Dormant && s.Name == was.States[start].Name {
			s.Start = true
			c := *now
			c.States = slices.Clone(c.States)
			c.States[i] = s
			return &c
		}
	}
	return now
}
