package editor

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"propwright/model"
	"propwright/model/machine"
)

// pause is how long after an edit the design is checked again, so that fast
// typing checks once.
const pause = 120 * time.Millisecond

// A review is the check that runs beside the editor. But for generation and
// busy it belongs to the screen's goroutine; inspect runs on its own.
type review struct {
	generation atomic.Int64
	busy       sync.Mutex // held while a design is inspected: one at a time
	pending    bool       // an edit is not yet checked
	timer      *time.Timer
	judged     func()        // is called when a check has ended
	of         *model.Design // that the findings are about
	findings   []finding
	elems      map[model.Elem]bool // that findings are about
	cells      map[[2]string]bool  // sources and triggers of such transitions
}

// A finding is what a check or the file's reader says of a design.
type finding struct {
	severity severity
	rule     string
	elem     model.Elem
	states   []model.Elem // of which it says the same; nil but for many
	pos      model.Pos    // in the design's canonical text
	key      string       // that stands there; "" or something else where none does
	said     string
	advice   string
	witness  []machine.Act // what shows it, from power-up; may be nil
	draws    []uint32      // the deadlines drawn on the way
}

type severity int

const (
	fault severity = iota // the design is not whole
	wrong
	warn
	note
)

func (s severity) String() string { return [...]string{"unfinished", "error", "warning", "note"}[s] }

// start checks the design of now, a little later and in the background. What
// an older check has to say then is not heard.
func (r *review) start(w *workspace) {
	generation := r.generation.Add(1)
	r.pending = true
	if r.timer != nil {
		r.timer.Stop()
	}
	d, file := w.desk.design(), ""
	if w.desk.file != nil {
		file = w.desk.file.Name()
	}
	r.timer = time.AfterFunc(pause, func() {
		r.busy.Lock()
		defer r.busy.Unlock()
		if generation != r.generation.Load() {
			return
		}
		found := append(inspect(d), inspectScripts(d, file)...)
		w.queue(func() {
			if generation == r.generation.Load() {
				r.finish(d, append(ofUnread(w.desk.unread()), found...))
				w.desk.look()
				r.judged()
			}
		})
	})
}

// finish takes a check's findings.
func (r *review) finish(d *model.Design, found []finding) {
	r.pending = false
	slices.SortStableFunc(found, func(a, b finding) int { return int(a.severity - b.severity) })
	r.of, r.findings = d, found
	r.elems, r.cells = map[model.Elem]bool{}, map[[2]string]bool{}
	for _, f := range found {
		if f.severity == note {
			continue
		}
		r.elems[f.elem] = true
		for _, s := range f.states {
			r.elems[s] = true
		}
		if f.elem.Sort != model.SortTransition || !d.Has(f.elem) {
			continue
		}
		t := &d.Transitions[f.elem.Index]
		for _, from := range t.From {
			for _, on := range t.On {
				r.cells[[2]string{from.String(), on.String()}] = true
			}
		}
	}
}

// marked reports whether a finding is about an element.
func (r *review) marked(elem model.Elem) bool { return r.elems[elem] }

// marksCell reports whether a finding is about the transition of a row and a
// trigger.
func (r *review) marksCell(from model.From, on model.Trigger) bool {
	return len(r.cells) > 0 && r.cells[[2]string{from.String(), on.String()}]
}

// count counts the findings of a severity.
func (r *review) count(s severity) int {
	n := 0
	for i := range r.findings {
		if r.findings[i].severity == s {
			n++
		}
	}
	return n
}

// summary is the findings in a few words.
func (r *review) summary() string {
	if r.pending {
		return "checking…"
	}
	var words []string
	for s := fault; s <= note; s++ {
		if s == note && words == nil {
			words = append(words, "no errors")
		}
		switch n := r.count(s); {
		case n == 1 || n > 1 && s == fault:
			words = append(words, fmt.Sprintf("%d %s", n, s))
		case n > 1:
			words = append(words, fmt.Sprintf("%d %ss", n, s))
		}
	}
	return strings.Join(words, ", ")
}
