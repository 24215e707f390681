package editor

import (
	"github.com/gdamore/tcell/v2"
)

// A question is an overlay that asks for one of a few answers.
type question struct {
	e       *Editor
	title   string
	text    string
	answers []item
	must    bool // it cannot be left without an answer
	pick    int
	first   int
	err     error
}

// ask asks a question. The first answer is the one that Enter gives.
func (e *Editor) ask(title, text string, answers ...item) {
	e.open(&question{e: e, title: title, text: text, answers: answers})
}

func (q *question) scopes() []scope { return []scope{inQuestion} }

func (q *question) key(*tcell.EventKey) {}

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

func (q *question) draw(p pen) {
	t := q.e.theme
	w := min(68, p.w-2)
	lines := wrap(q.text, w-4)
	if q.err != nil {
		lines = append(lines, wrap(q.err.Error(), w-4)...)
	}
	h := min(len(lines)+len(q.answers)+3, p.h)
	lines = lines[:max(min(len(lines), h-len(q.answers)-3), 0)]
	box := p.part((p.w-w)/2, max((p.h-h)/3, 0), w, h)
	box.clear(t.plain)
	in := box.frame(t.box, t.strong, q.title)
	y := 0
	for _, s := range lines {
		in.text(1, y, t.plain, s)
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
}

func (q *question) click(_, y int) {
	if i := y - q.first; i >= 0 && i < len(q.answers) {
		q.pick = i
		q.take()
	}
}

// leaveQuestion leaves a question that need not be answered.
func (e *Editor) leaveQuestion() {
	if e.question().must {
		e.say("choose one of the answers")
		return
	}
	e.close()
}
