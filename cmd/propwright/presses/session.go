package presses

import (
	"propwright/model/edit"
	"propwright/model/ir"
)

// A Session teaches a draft one button after the other from the presses of a source. Its
// owner asks and shows what is needed in between.
type Session struct {
	Source  Source
	Draft   *edit.Draft
	Learned []string // the buttons that got a code
}

// A Button is one being learned.
type Button struct {
	Name string
	Code *ir.Code // nil: not certain yet

	course ir.Course
}

// Begin begins to learn a button: its presses are compared with the codes of the others.
func (s *Session) Begin(name string) *Button {
	return &Button{Name: name, course: ir.Course{Known: edit.Codes(s.Draft.Design(), name)}}
}

// Take judges a press of the button, and says what was understood. If there is no code
// yet, another press is needed.
func (b *Button) Take(heard ir.Lesson) string {
	v := b.course.Take(heard)
	if v.Learned {
		b.Code = &v.Code
	}
	return v.Say
}

// Teach gives buttons their codes, all in one edit or none.
func (s *Session) Teach(buttons ...ir.Named) error {
	if err := s.Draft.Teach(buttons...); err != nil {
		return err
	}
	for _, b := range buttons {
		s.Learned = append(s.Learned, b.Name)
	}
	return nil
}
