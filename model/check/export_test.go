package check

import "propwright/model"

// Limited is NewStudy for a design that is not looked into beyond so many bytes.
func Limited(d *model.Design, bytes int) *Study {
	s := NewStudy(d)
	s.options.Bytes = bytes
	return s
}
