package editor

import (
	"slices"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"
)

// A chooser is an overlay that finds one of many by a few letters.
type chooser struct {
	e     *Editor
	title string
	hint  string // what a free text is good for
	input *tview.InputField
	items []item
	free  func(text string) []item // items made of what is written, may be nil
	found []item
	pick  int
	top   int
	first int    // the screen's line of the first item
	must  bool   // it cannot be left without a choice
	back  func() // where leaving it leads, may be nil
	err   error
}

// An item is one thing to choose.
type item struct {
	text string
	note string // beside it, not matched
	run  func() error
}

// choose opens a chooser. text is what was typed already.
func (e *Editor) choose(c *chooser, text string) {
	c.e = e
	c.input = newField(e.theme, text)
	c.look()
	e.open(c)
}

func (c *chooser) scopes() []scope {
	if c.must { // it is the first of all questions
		return []scope{inStart, inChooser}
	}
	return []scope{inChooser, leaving(c.back)}
}

// look finds the items that fit. What is made of the text comes before those
// that only have its letters somewhere: a new name must not become another.
func (c *chooser) look() {
	text := c.input.GetText()
	c.found, c.pick, c.top, c.err = c.found[:0], 0, 0, nil
	index, whole := matchIndex(text, len(c.items), func(i int) string { return c.items[i].text })
	for _, i := range index {
		c.found = append(c.found, c.items[i])
	}
	if c.free != nil {
		c.found = slices.Insert(c.found, whole, c.free(text)...)
	}
}

func (c *chooser) key(ev *tcell.EventKey) bool {
	if ev.Key() == tcell.KeyEscape {
		c.e.say("choose a line; the last one leaves")
	}
	if !send(c.input, ev) {
		return false
	}
	c.look()
	return true
}

func (c *chooser) paste(text string) {
	c.input.PasteHandler()(oneLine(text), func(tview.Primitive) {})
	c.look()
}

// move moves to another item.
func (c *chooser) move(step int) {
	c.pick = min(max(c.pick+step, 0), max(len(c.found)-1, 0))
}

// take does what the picked item says. Where that is not possible the chooser
// stays, with the reason.
func (c *chooser) take() {
	if c.pick >= len(c.found) {
		return
	}
	n := len(c.e.overlays)
	if err := c.found[c.pick].run(); err != nil {
		c.err = err
		return
	}
	// Take this chooser away, but not what the item opened on top of it.
	c.e.overlays = append(c.e.overlays[:n-1], c.e.overlays[n:]...)
}

func (c *chooser) draw(p pen) pen {
	t := c.e.theme
	w := 64
	for i := range c.items {
		w = max(w, width(c.items[i].text)+width(c.items[i].note)+8)
	}
	w = min(w, p.w-2)
	var wrong []string
	if c.err != nil {
		wrong = wrap(c.err.Error(), w-4)
	}
	h := min(max(len(c.found), 1)+3+max(len(wrong), 1), max(18, p.h*2/3), p.h)
	box := p.part((p.w-w)/2, max((p.h-h)/3, 0), w, h)
	box.clear(t.plain)
	in := box.frame(t.box, t.strong, c.title)
	c.first = box.y - p.y + 2
	drawInput(c.input, in.part(1, 0, in.w-2, 1))
	last := in.h - 1
	switch {
	case c.err != nil:
		last = in.h - len(wrong)
		for i, s := range wrong {
			in.text(1, last+i, t.errs, s)
		}
	case len(c.found) == 0 && c.input.GetText() != "":
		in.text(1, last, t.warning, "nothing of that name")
	default:
		in.text(1, last, t.dim, c.hint)
	}
	rows := max(last-1, 1)
	c.top = scrolled(c.top, c.pick, rows, len(c.found))
	for y := 0; y < rows && c.top+y < len(c.found); y++ {
		it := c.found[c.top+y]
		style, mark := t.plain, "  "
		if c.top+y == c.pick {
			style, mark = t.cursor, "» "
			in.fill(0, 1+y, in.w, style)
		}
		note := fit(it.note, max(in.w/2, in.w-6-width(it.text)))
		in.within(1, 1+y, in.w-3-width(note), style, mark+it.text)
		if c.top+y != c.pick {
			style = t.dim
		}
		in.text(in.w-1-width(note), 1+y, style, note)
	}
	box.part(0, 2, box.w, rows).more(t.strong, c.top > 0, c.top+rows < len(c.found))
	return box
}

func (c *chooser) click(_, y int) {
	if i := c.top + y - c.first; y >= c.first && i < len(c.found) {
		c.pick = i
		c.take()
	}
}

func (c *chooser) wheel(dy int) { c.move(dy) }

// leave leaves a chooser without a choice.
func (c *chooser) leave() {
	c.e.close()
	if c.back != nil {
		c.back()
	}
}
