package editor

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/editor/review"
	"propwright/model"
)

// A field is one value being written.
type field struct {
	of      *panel
	input   *pane.Field
	elem    model.Elem
	key     model.KeyValue
	was     string   // the value before
	choices []string // those that fit what is written
	pick    int      // the choice that Tab would take
	err     error    // what is wrong with what is written
	instead string   // the value that is taken in place of a wrong one; may be ""

	trial review.Review // of the design as it would be
}

// below writes the error and the possible values under the field. Forms are to be read,
// choices to be taken.
func (f *field) below(w int, put func(style tcell.Style, head bool, s string)) {
	t := f.of.theme
	if f.err != nil {
		for _, s := range pane.Wrap(f.err.Error(), w) {
			put(t.Errs, false, "  "+s)
		}
	}
	if f.instead != "" {
		put(t.Strong, false, "  Enter takes "+f.instead)
	}
	for _, found := range f.trial.About(f.elem) {
		if found.Key == f.key.Key {
			if !f.mends(&found) {
				found.Fix.Key = ""
			}
			f.of.tell(&found, false, w, put)
		}
	}
	for _, form := range f.key.Forms {
		put(t.Dim, false, "  "+form)
	}
	const most = 6
	first := max(min(f.pick-most/2, len(f.choices)-most), 0)
	for i := first; i < min(first+most, len(f.choices)); i++ {
		mark := "  "
		if i == f.pick {
			mark = "» "
		}
		put(t.Dim, false, "  "+mark+f.choices[i])
	}
}

// write starts writing the key on the cursor's line.
func (p *panel) write(text string) {
	kv := p.line().key
	f := &field{of: p, input: pane.NewField(p.theme.Theme, flat(kv.Key, text)), elem: p.elem, key: *kv, was: kv.Value}
	f.trial = review.Review{Queue: p.queue, Inspect: p.review.Inspect, Unread: func() model.Faults { return nil }, Done: func() {}}
	p.field = f
	f.look()
}

// A note and a comment may have several lines, and a list may; a field has one.
const newLine = "¶"

func hasLines(key string) bool { return key == "note" || key == commentKey }

// flat returns a value on one line.
func flat(key, value string) string {
	if hasLines(key) {
		return strings.ReplaceAll(value, "\n", newLine)
	}
	return strings.Join(strings.FieldsFunc(value, func(r rune) bool { return r == '\n' }), " ")
}

// text returns the field's text as a value.
func (f *field) text() string {
	s := f.input.Text()
	switch {
	case s == flat(f.key.Key, f.was):
		return f.was
	case hasLines(f.key.Key):
		return strings.ReplaceAll(s, newLine, "\n")
	}
	return s
}

// newLine inserts the character that stands for a line's end.
func (f *field) newLine() {
	if !hasLines(f.key.Key) {
		f.of.say("only a note and a comment may have several lines")
		return
	}
	f.takes(tcell.NewEventKey(tcell.KeyRune, []rune(newLine)[0], 0))
}

// typed begins a new value with its first character.
func (p *panel) typed(r rune) {
	if p.line().key != nil {
		p.write(string(r))
	}
}

// look checks what is written so far.
func (f *field) look() {
	d := f.of.desk.design()
	text := f.text()
	f.choices, f.err, f.instead = nil, nil, ""
	switch {
	case f.ofList(text) && text == f.was && text != "":
	case f.ofList(text):
		f.choices = completed(text, f.key)
	case text == f.was:
		f.choices = f.key.Choices
	default:
		f.choices = pane.Matches(text, f.key.Choices)
	}
	f.pick = slices.Index(f.choices, text)
	f.trial.Findings = nil
	if f.key.Key == commentKey {
		_, f.err = d.WithComment(f.elem, text)
		return
	}
	if d, f.err = d.With(f.elem, f.key.Key, text); f.err == nil {
		f.trial.Start(d, "")
		return
	}
	f.trial.Stop()
	if len(f.choices) == 1 && !f.key.List {
		f.instead = f.choices[0]
	}
	var bad *model.ValueError
	if errors.As(f.err, &bad) && bad.Instead != "" {
		if _, err := f.of.desk.design().With(f.elem, f.key.Key, bad.Instead); err == nil {
			f.instead = bad.Instead
		}
	}
}

// takes handles a key; it reports whether the text has changed.
func (f *field) takes(ev *tcell.EventKey) bool {
	if !f.input.Key(ev) {
		return false
	}
	f.look()
	return true
}

func (f *field) paste(text string) {
	line := pane.OneLine(text)
	if hasLines(f.key.Key) {
		lines := strings.Split(strings.TrimSpace(text), "\n")
		for i := range lines {
			lines[i] = pane.OneLine(lines[i])
		}
		line = strings.Join(lines, newLine)
	}
	f.input.Paste(line)
	f.look()
}

// choose moves to another choice.
func (f *field) choose(step int) {
	if n := len(f.choices); n > 0 {
		f.pick = min(max(f.pick+step, 0), n-1)
	}
}

// accept puts the text into the design. If it does not fit, the field stays open with the
// reason below it.
func (f *field) accept() {
	p := f.of
	text := f.text()
	switch {
	case f.pick >= 0 && f.pick < len(f.choices):
		text = f.choices[f.pick]
	case f.instead != "":
		text = f.instead
	}
	if text == f.was {
		p.field = nil
		return
	}
	if err := p.setKey(f.elem, f.key.Key, text); err != nil {
		f.err = err
		return
	}
	p.field = nil
	d := p.desk.design()
	p.say(fmt.Sprintf("%s: %s is %s", d.Title(p.elem), f.key.Key, shownValue(pane.OneLine(valueOf(d, p.elem, f.key.Key)))))
}

// mends reports whether another value of the field ends a finding.
func (f *field) mends(found *review.Finding) bool {
	return found.FixOf == f.elem && found.Fix.Key == f.key.Key
}

// fix writes the value that ends a finding about what is written.
func (f *field) fix() {
	for _, found := range f.trial.About(f.elem) {
		if f.mends(&found) {
			f.input.SetText(found.Fix.Value)
			f.look()
			return
		}
	}
	f.of.say("no finding here says which value to write")
}

// abandon leaves the value unchanged and keeps the text for recall.
func (f *field) abandon() {
	p := f.of
	if text := f.text(); text != f.was {
		p.over.Dropped = text
		p.say("left as it was; Ctrl-O in a field brings back what you wrote")
	}
	p.field = nil
}

// recall restores a text that was left.
func (f *field) recall() {
	if f.of.over.Recall(f.input) {
		f.look()
	}
}

func shownValue(s string) string {
	if s == "" {
		return "no longer said"
	}
	return s
}

// ofList reports whether the text is one or several items of a list.
func (f *field) ofList(text string) bool {
	return f.key.List || slices.ContainsFunc(f.key.Heads, func(head string) bool { return strings.HasPrefix(text, head) })
}

// completed returns the list with each completion of its last word.
func completed(text string, key model.KeyValue) []string {
	head, last := "", text
	for _, h := range key.Heads {
		if rest, ok := strings.CutPrefix(text, h); ok {
			head, last = h, rest
		}
	}
	if i := strings.LastIndexByte(text, ','); i >= 0 {
		head, last = text[:i+1]+" ", text[i+1:]
	}
	var out []string
	for _, s := range pane.Matches(last, key.Choices) {
		out = append(out, head+s)
	}
	return out
}
