// Package review checks a design beside the screen while it is edited, and says
// which elements something was found about.
//
// It knows when to check, and what a build would say of the design, of its file
// and of the rehearsals beside that. It refuses to know how findings are shown,
// and what an edit is.
package review

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"propwright/model"
	"propwright/model/check"
)

// Pause is how long after an edit the design is checked, so that fast typing
// checks once.
const Pause = 120 * time.Millisecond

// A Review is the check of one editor. Its methods and fields belong to the
// screen's goroutine.
type Review struct {
	Queue   func(func())                  // runs a function on the screen's goroutine
	Inspect func(*model.Design) []Finding // lists what is wrong with a design, on any goroutine
	Unread  func() model.Faults           // what the file says and the design does not
	Done    func()                        // is called when a check has ended

	Findings []Finding     // what stops a build first
	Of       *model.Design // that the findings are about
	Pending  bool          // an edit is not yet checked

	generation atomic.Int64
	busy       sync.Mutex // held while a design is inspected: one at a time
	timer      *time.Timer
	elems      map[model.Elem]bool // that findings are about
	cells      map[[2]string]bool  // sources and triggers of such transitions
}

// A Finding is what a check or the file's reader says of a design.
type Finding struct {
	check.Finding            // its Pos is in the design's canonical text
	Unfinished    bool       // the design is not whole: the rules were not asked
	Elem          model.Elem // what it is about
	Key           string     // that the text has there; "" or something else where none is
	FixOf         model.Elem // the element that its fix is written into
}

// Word returns what the finding means for a build in one word.
func (f *Finding) Word() string {
	if f.Unfinished {
		return "unfinished"
	}
	return f.Severity.String()
}

// Start checks a design a little later and in the background; file is where it
// is saved, "" where that is open. What an older check has to say then is not
// heard.
func (r *Review) Start(d *model.Design, file string) {
	generation := r.generation.Add(1)
	r.Pending = true
	r.Stop()
	r.timer = time.AfterFunc(Pause, func() {
		r.busy.Lock()
		defer r.busy.Unlock()
		if generation != r.generation.Load() {
			return
		}
		found := append(r.Inspect(d), inspectScripts(d, file)...)
		r.Queue(func() {
			if generation == r.generation.Load() {
				r.Finish(d, append(ofUnread(r.Unread()), found...))
				r.Done()
			}
		})
	})
}

// Stop takes back a check that has not begun.
func (r *Review) Stop() {
	if r.timer != nil {
		r.timer.Stop()
	}
}

// Finish takes what was found in a design.
func (r *Review) Finish(d *model.Design, found []Finding) {
	r.Pending = false
	slices.SortStableFunc(found, func(a, b Finding) int { return a.rank() - b.rank() })
	r.Of, r.Findings = d, found
	r.elems, r.cells = map[model.Elem]bool{}, map[[2]string]bool{}
	for _, f := range found {
		if f.Severity == check.Note {
			continue
		}
		r.elems[f.Elem] = true
		for _, name := range f.States {
			if state, ok := d.Find(model.SortState, name); ok {
				r.elems[state] = true
			}
		}
		if f.Elem.Sort != model.SortTransition || !d.Has(f.Elem) {
			continue
		}
		t := &d.Transitions[f.Elem.Index]
		for _, from := range t.From {
			for _, on := range t.On {
				r.cells[[2]string{from.String(), on.String()}] = true
			}
		}
	}
}

// rank returns the finding's place among the others.
func (f *Finding) rank() int {
	if f.Unfinished {
		return 0
	}
	return int(f.Severity)
}

// Marks reports whether a finding is about an element.
func (r *Review) Marks(elem model.Elem) bool { return r.elems[elem] }

// About lists the errors and warnings about an element.
func (r *Review) About(elem model.Elem) []Finding {
	var about []Finding
	for _, f := range r.Findings {
		if f.Elem == elem && f.Severity != check.Note {
			about = append(about, f)
		}
	}
	return about
}

// MarksCell reports whether a finding is about the transition of a row and a
// trigger.
func (r *Review) MarksCell(from model.From, on model.Trigger) bool {
	return len(r.cells) > 0 && r.cells[[2]string{from.String(), on.String()}]
}

// Summary returns the findings in a few words.
func (r *Review) Summary() string {
	if r.Pending {
		return "checking…"
	}
	count := map[string]int{}
	for i := range r.Findings {
		count[r.Findings[i].Word()]++
	}
	var words []string
	for _, of := range []struct{ one, many string }{{"unfinished", "unfinished"}, {"error", "errors"}, {"warning", "warnings"}, {"note", "notes"}} {
		if of.one == "note" && words == nil {
			words = append(words, "no errors")
		}
		switch n := count[of.one]; n {
		case 0:
		case 1:
			words = append(words, "1 "+of.one)
		default:
			words = append(words, fmt.Sprintf("%d %s", n, of.many))
		}
	}
	return strings.Join(words, ", ")
}
