package model

import (
	"fmt"
	"strings"
)

// Comment is the text of the comments above an element, its lines joined by line
// breaks. The parts of a state have none of their own: their comments move above
// the state's key.
func (d *Design) Comment(e Elem) string {
	if !d.Has(e) {
		return ""
	}
	return strings.Join(d.sourceAt(e).Above, "\n")
}

// WithComment is the design with another comment above an element, "" for
// none. The error is a *ValueError.
func (d *Design) WithComment(e Elem, text string) (*Design, error) {
	switch {
	case !d.Has(e):
		return nil, &ValueError{Wrong: fmt.Sprintf("there is no such %s", e.Sort.Noun())}
	case e.Sort.row().inline:
		return nil, &ValueError{Wrong: d.Title(e) + " has no comment of its own", Advice: "comment on its state"}
	case strings.ContainsFunc(text, IsControl):
		return nil, &ValueError{Wrong: "a comment has no control characters", Advice: "leave them out"}
	}
	c := d.opened(e)
	s := c.sourceAt(e)
	s.Above = nil
	if text != "" {
		s.Above = strings.Split(text, "\n")
	}
	return c, nil
}
