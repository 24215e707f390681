package editor

import (
	"strings"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"
)

// A prompt is an overlay that asks for a text.
type prompt struct {
	e     *Editor
	title string
	hint  string
	judge func(string) error // what is wrong with the text so far; may be nil
	take  func(string) error // takes the text; with an error the prompt stays
	back  func()             // where leaving it leads; may be nil
	was   string
	input *tview.InputField
	err   error
}

// write opens a prompt.
func (e *Editor) write(p *prompt, text string) {
	p.e, p.was = e, text
	p.input = newField(e.theme, text)
	e.open(p)
}

func (p *prompt) scopes() []scope { return []scope{inPrompt, leaving(p.back)} }

func (p *prompt) key(ev *tcell.EventKey) bool {
	if !send(p.input, ev) {
		return false
	}
	p.look()
	return true
}

func (p *prompt) paste(text string) {
	p.input.PasteHandler()(oneLine(text), func(tview.Primitive) {})
	p.look()
}

func (p *prompt) look() {
	p.err = nil
	if p.judge != nil && p.input.GetText() != "" {
		p.err = p.judge(p.input.GetText())
	}
}

// done takes what is written.
func (p *prompt) done() {
	n := len(p.e.overlays)
	if err := p.take(strings.TrimSpace(p.input.GetText())); err != nil {
		p.err = err
		return
	}
	p.e.overlays = append(p.e.overlays[:n-1], p.e.overlays[n:]...)
}

func (p *prompt) draw(pn pen) pen {
	t := p.e.theme
	w := min(68, pn.w-2)
	lines := wrap(p.hint, w-4)
	style := t.dim
	if p.err != nil {
		lines, style = wrap(p.err.Error(), w-4), t.errs
	}
	h := min(len(lines)+3, pn.h)
	box := pn.part((pn.w-w)/2, max((pn.h-h)/3, 0), w, h)
	box.clear(t.plain)
	in := box.frame(t.box, t.strong, p.title)
	drawInput(p.input, in.part(1, 0, in.w-2, 1))
	for i, s := range lines {
		in.text(1, 1+i, style, s)
	}
	return box
}

func (p *prompt) click(int, int) {}
func (p *prompt) wheel(int)      {}

// oneLine is a pasted text without line breaks.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// leave changes nothing; what was written can be brought back.
func (p *prompt) leave() {
	e := p.e
	if text := p.input.GetText(); text != p.was {
		e.dropped = text
		e.say("nothing is changed; Ctrl-O in a field brings back what you wrote")
	}
	e.close()
	if p.back != nil {
		p.back()
	}
}

func (e *Editor) recallPrompt() {
	if e.recallInto(e.prompt().input) {
		e.prompt().look()
	}
}
