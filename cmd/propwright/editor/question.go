package editor

import (
	"fmt"

	"github.com/gdamore/tcell/v2"
)

// A question is an overlay that asks for one of a few answers.
type question struct {
	e       *Editor
	title   string
	text    string
	answers []item
	must    bool   // it cannot be left without an answer
	back    func() // where leaving it leads; may be nil
	pick    int
	first   int
	err     error
}

// ask asks a question. The first answer is the one that Enter gives.
func (e *Editor) ask(title, text string, answers ...item) {
	e.open(&question{e: e, title: title, text: text, answers: answers})
}

func (q *question) scopes() []scope {
	if q.must {
		return []scope{inQuestion}
	}
	return []scope{inQuestion, leaving(q.back)}
}

func (q *question) key(ev *tcell.EventKey) bool {
	if ev.Key() == tcell.KeyEscape {
		q.e.say("choose one of the answers")
	}
	return false
}

func (q *question) paste(string) {}

func (q *question) move(step int) {
	q.pick = min(max(q.pick+step, 0), len(q.answers)-1)
}

// take gives the picked answer.
func (q *question) take() {
	n := len(q.e.overlays)
	if run := q.answers[q.pick].run; run != nil {
		if err := run(); err != nil {
			q.err = err
			return
		}
	}
	q.e.overlays = append(q.e.overlays[:n-1], q.e.overlays[n:]...)
}

func (q *question) draw(p pen) pen {
	t := q.e.theme
	w := min(68, p.w-2)
	lines := wrap(q.text, w-4)
	text := len(lines)
	if q.err != nil {
		lines = append(lines, wrap(q.err.Error(), w-4)...)
	}
	h := min(len(lines)+len(q.answers)+3, p.h)
	if room := max(h-len(q.answers)-3, 0); room < len(lines) {
		hidden := len(lines) - room + 1
		if lines = lines[:room]; room > 0 {
			lines[room-1] = fmt.Sprintf("… and %d lines more", hidden)
		}
	}
	box := p.part((p.w-w)/2, max((p.h-h)/3, 0), w, h)
	box.clear(t.plain)
	in := box.frame(t.box, t.strong, q.title)
	y := 0
	for _, s := range lines {
		style := t.plain
		if y >= text {
			style = t.errs
		}
		in.text(1, y, style, s)
		y++
	}
	y++
	q.first = box.y - p.y + 1 + y
	for i, a := range q.answers {
		style, mark := t.plain, "  "
		if i == q.pick {
			style, mark = t.cursor, "» "
			in.fill(0, y+i, in.w, style)
		}
		in.text(1, y+i, style, mark+a.text)
	}
	return box
}

func (q *question) click(_, y int) {
	if i := y - q.first; i >= 0 && i < len(q.answers) {
		q.pick = i
		q.take()
	}
}

func (q *question) wheel(dy int) { q.move(dy) }

// leave leaves a question without an answer.
func (q *question) leave() {
	q.e.close()
	if q.back != nil {
		q.back()
	}
}
