package editor

import (
	"fmt"
	"slices"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

const inHelp scope = "help"

// help shows what every key does, made from the key table, and the cautions.
type help struct {
	*workspace
	pane.List       // its cursor is at the first line shown
	about     scope // whose keys are to be shown first; "" once they are
}

type helpLine struct {
	text string
	head bool
}

// cautions ship with everything that can move a prop.
var cautions = []string{
	"Servos pinch, and can start at power-up: keep hands clear.",
	"Power servos from their own supply, with a fuse and a real switch within reach: the remote is a convenience, never the only stop.",
	"Unplug before rewiring.",
	"Lithium packs need their own charger and a fire-safe place.",
	"For mains, motors above hobby size or children nearby follow local codes and ask a licensed person.",
}

// helpText returns the help page for a page of w columns.
func helpText(all []action, w int) []helpLine {
	var lines []helpLine
	head := func(s string) { lines = append(lines, helpLine{}, helpLine{s, true}) }
	text := func(s string) {
		for _, l := range pane.Wrap(s, w) {
			lines = append(lines, helpLine{l, false})
		}
	}
	lines = append(lines, helpLine{"Take care", true})
	for _, c := range cautions {
		text(c)
	}
	head("How a design is read")
	text("A prop is always in one state: dormant (z), ambient (~) or performing (!). A trigger takes it to another. The matrix has a line for every state and a column for every trigger. What a line says itself beats what is said for its kind, and that beats what is said for any state. Where nothing is said nothing happens; a · says that silence is meant.")
	for _, s := range scopes {
		first := true
		for i := range all {
			a := &all[i]
			if a.in != s {
				continue
			}
			if first {
				head(helpTitle(s))
				first = false
			}
			key := pane.Pad(a.keyText(), 20)
			for j, l := range pane.Wrap(a.label, max(w-22, 10)) {
				if j > 0 {
					key = pane.Pad("", 20)
				}
				lines = append(lines, helpLine{key + "  " + l, false})
			}
		}
	}
	head("Words")
	for _, k := range model.StateKinds {
		text(fmt.Sprintf("%s %s: %s", kindMark(k), k, kindMeaning[k]))
	}
	return lines
}

var kindMeaning = map[model.StateKind]string{
	model.Dormant:    "the prop is at rest; power-up begins here",
	model.Ambient:    "an idle life that goes on until something happens",
	model.Performing: "a routine plays to its end",
}

// helpTitle returns a scope's heading on the help page.
func helpTitle(s scope) string {
	if !slices.Contains(viewOrder, s) {
		return string(s)
	}
	return "In the view “" + string(s) + "”"
}

func (h *help) draw(p pane.Pen, _ bool) {
	t := h.theme
	lines := helpText(actions, p.W-4)
	h.Put(len(lines), nil)
	if h.about != "" {
		h.At = max(slices.Index(lines, helpLine{helpTitle(h.about), true}), 0)
		h.about = ""
	}
	h.At = max(min(h.At, len(lines)-p.H), 0)
	h.Top = h.At
	for y, i := range h.Lines(p.H) {
		style := t.Plain
		if lines[i].head {
			style = t.Head.Bold(true)
		}
		p.Text(2, y, style, lines[i].text)
	}
	h.More(p, t.Strong)
}

func (h *help) place() model.Elem   { return model.Elem{Sort: model.SortProp} }
func (h *help) click(int, int) bool { return false }
func (h *help) renew()              {}
func (h *help) where() string {
	return "the arrows, PgUp and PgDn turn the page, Home turns to the first; Esc leaves"
}

// helpActions returns the keys of the help page.
func helpActions() []viewAction {
	return []viewAction{
		{"help-leave", []string{"Esc", "Enter"}, "back to the view before", "back", inView(func(h *help) { h.leaveHelp() })},
	}
}
