package compare

import (
	"cmp"
	"fmt"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
)

// The order of a file decides in two places only: which of two timers goes
// first that are due in the same millisecond (rule 8), and which of two cues
// comes last that ask the same of an output at the same time. (Two inputs that
// change in the same millisecond come in the file's order too. Nobody means
// anything by that, and it is not compared.)

// A tie is two timers of one state that can be due in the same millisecond
// and do not bring about the same.
type tie struct{ first, second string } // as in `on`, the shorter time first

func (t tie) String() string {
	return fmt.Sprintf("%s and %s in the same millisecond", t.first, t.second)
}

// ties says for each tie of a state which of the two events comes first.
func ties(p *machine.Program, s machine.StateID) map[tie]string {
	won := map[tie]string{}
	timers := p.Timers(s)
	for i := range timers {
		for j := i + 1; j < len(timers); j++ {
			a, b := &timers[i], &timers[j]
			if a.Lo > b.Hi || b.Lo > a.Hi || a.Target == b.Target && a.Defer == b.Defer && a.Do == b.Do && (!a.Do || leads(p, &a.Move) == leads(p, &b.Move)) {
				continue
			}
			first := p.Trigger(&a.Move).String()
			t := tie{first, p.Trigger(&b.Move).String()}
			if cmp.Or(cmp.Compare(a.Lo, b.Lo), cmp.Compare(a.Hi, b.Hi)) > 0 {
				t.first, t.second = t.second, t.first
			}
			won[t] = first
		}
	}
	return won
}

// turns says of each cue of a routine that shares its moment and its output
// with others which of them it is: the last one counts, or is on top.
func turns(d *model.Design, r *model.Routine) map[int]string {
	said := map[int]string{}
	sheet := motion.Sheet(d, r)
	for i, c := range sheet {
		place, of := 1, 1
		for j, x := range sheet {
			if i == j || x.At != c.At || x.Output != c.Output || apart(d, &c, &x) {
				continue
			}
			of++
			if j < i {
				place++
			}
		}
		if of > 1 {
			said[c.Cue] = fmt.Sprintf("as number %d of %d at once", place, of)
		}
	}
	return said
}

// apart reports whether two calls of a strip are for different pixels.
func apart(d *model.Design, a, b *motion.Call) bool {
	o := d.Output(a.Output)
	first, last := o.Stretch(a.Action)
	from, to := o.Stretch(b.Action)
	return o.Kind == model.KindPixels && (first > to || from > last)
}
