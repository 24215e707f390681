package model

import (
	"fmt"
	"slices"
)

// A mention is a name in an element's value that stands for another element. Of
// several in one value the last is changed first: the others keep their places.
type mention struct {
	scope
	name string
	pos  Pos               // of the name; zero: where the key's value is
	set  func(name string) // puts another name in its place
	drop func()            // takes it away; nil: the element cannot be without it
	does string            // what the element does with it, where it can be without it
}

// mentioning gives a codec the mention that its value is, or none where it is "".
func (c codec) mentioning(p *string, in scope) codec {
	c.mentions = func() []mention {
		if *p == "" {
			return nil
		}
		return []mention{{scope: in, name: *p, set: func(name string) { *p = name }}}
	}
	return c
}

// dropping gives a codec mentions without which the element does something no
// longer, in place of those without which it cannot be.
func (c codec) dropping(does string) codec {
	mentions := c.mentions
	c.mentions = func() []mention {
		ms := mentions()
		for i := range ms {
			ms[i].drop, ms[i].does = c.clear, does
		}
		return ms
	}
	return c
}

// itemMentions lists the mentions of a list's items; whom gives the sort that an
// item mentions, "" for none, and the name.
func itemMentions[T any, P sourced[T]](items *[]T, does string, whom func(P) (Sort, *string)) []mention {
	var ms []mention
	for i := range *items {
		item := P(&(*items)[i])
		sort, name := whom(item)
		if sort == "" {
			continue
		}
		ms = append(ms, mention{
			scope: scope{sort: sort}, name: *name, pos: item.source().Pos, does: does,
			set: func(name string) {
				*items = slices.Clone(*items)
				_, old := whom(&(*items)[i])
				*old = name
			},
			drop: func() { *items = slices.Delete(slices.Clone(*items), i, i+1) },
		})
	}
	return ms
}

// mentionFields lists those of an element's fields that can mention others. A pose
// has one more: it is named after its output.
func (d *Design) mentionFields(e Elem, r *reader) []field {
	fields := slices.DeleteFunc(d.fieldsAt(e, r), func(f field) bool { return f.mentions == nil })
	if e.Sort == SortPose {
		parent, i := e.Place()
		name := e.Sort.row().list.nameOf(d, parent, i)
		fields = append(fields, field{codec: codec{}.mentioning(name, scope{sort: SortOutput})})
	}
	return fields
}

// means gives what tells mentions of an element from others: of two elements of
// one name the first is meant. It is nil where no mention can mean the element.
func (d *Design) means(at Elem) func(mention) bool {
	if !d.Has(at) || !at.Sort.Named() {
		return nil
	}
	name := d.Name(at)
	parent, i := at.Place()
	for j := range i {
		if d.Name(at.Sort.At(parent, j)) == name {
			return nil
		}
	}
	in := scope{sort: at.Sort}
	if p := at.Sort.Parent(); p != "" {
		in.of = d.Name(p.At(0, parent))
	}
	busy := at.Sort == SortOutput && d.Outputs[at.Index].BusyPin > 0 // rise and fall mention it too
	return func(m mention) bool {
		return m.name == name && (m.scope == in || busy && m.scope == scope{sort: SortInput})
	}
}

// Users lists the elements that mention one by name, in file order.
func (d *Design) Users(at Elem) []Elem {
	means := d.means(at)
	if means == nil {
		return nil
	}
	var users []Elem
	r := &reader{design: d}
	d.each(func(e Elem) {
		for _, f := range d.mentionFields(e, r) {
			if slices.ContainsFunc(f.mentions(), means) {
				users = append(users, e)
				break
			}
		}
	})
	return users
}

// Renamed is the design in which an element has another name, also where it is
// mentioned. The error is a *ValueError.
func (d *Design) Renamed(at Elem, name string) (*Design, error) {
	n, err := d.With(at, "name", name)
	if err != nil {
		return nil, err
	}
	means, now := d.means(at), n.Name(at)
	c, r := n.copied(), &reader{design: d}
	for _, user := range d.Users(at) {
		c.open(user)
		for _, f := range c.mentionFields(user, r) {
			for _, m := range slices.Backward(f.mentions()) {
				if means(m) {
					m.set(now)
				}
			}
		}
	}
	return c.Design, nil
}

// Without is the design without an element and without what cannot be without
// it. takes says in a line each what else goes or changes.
func (d *Design) Without(at Elem) (n *Design, takes []string) {
	c, r := d.copied(), &reader{design: d}
	gone := map[Elem]bool{at: true}
	// last takes what an element belongs to with it where that cannot be without.
	last := func(e Elem) {
		row := e.Sort.row()
		if parent := row.parent.At(0, e.Index); row.vital && !gone[parent] && !slices.ContainsFunc(d.Parts(parent), func(part Elem) bool { return part.Sort == e.Sort && !gone[part] }) {
			takes = append(takes, d.Title(parent)+" goes")
			gone[parent] = true
		}
	}
	last(at)
	for queue := []Elem{at}; len(queue) > 0; queue = queue[1:] {
		means := d.means(queue[0])
		for _, user := range d.Users(queue[0]) {
			if gone[user] {
				continue
			}
			c.open(user)
			if does := c.drop(user, r, means); does != "" {
				takes = append(takes, fmt.Sprintf("%s no longer %s it", d.Title(user), does))
				continue
			}
			takes = append(takes, d.Title(user)+" goes")
			gone[user] = true
			last(user)
			queue = append(queue, user)
		}
	}
	for e := range gone {
		c.open(e)
	}
	for _, row := range slices.Backward(sorts) { // parts before what they belong to
		for list := range c.opened {
			if list.Sort == row.sort {
				row.list.remove(c.Design, list.Index, func(i int) bool { return gone[row.at(list.Index, i)] })
			}
		}
	}
	return c.Design, takes
}

// drop takes mentions out of an element; it gives what that does no longer, ""
// where it cannot be without them.
func (d *Design) drop(e Elem, r *reader, means func(mention) bool) (does string) {
	for _, f := range d.mentionFields(e, r) {
		for _, m := range slices.Backward(f.mentions()) {
			if !means(m) {
				continue
			}
			if m.drop == nil {
				return ""
			}
			m.drop()
			does = m.does
			if !f.unset() {
				continue
			}
			if f.need {
				return ""
			}
			d.sourceAt(e).Unstate(f.key)
		}
	}
	return does
}
