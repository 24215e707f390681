package chart

import (
	"fmt"
	"strings"

	"propwright/model"
)

// Mermaid writes the chart as a flow chart in Mermaid's language, which many
// viewers of Markdown draw.
func (c *Chart) Mermaid() []byte {
	var b strings.Builder
	b.WriteString("---\ntitle: " + mermaidTitle(c.Title) + "\n---\nflowchart LR\n")
	for _, k := range c.Legend {
		b.WriteString("  %% " + strings.ReplaceAll(model.Visible(k.Text), "{", "(") + "\n")
	}
	number := map[string]int{}
	for i := range c.Boxes {
		x := &c.Boxes[i]
		number[x.ID] = i
		shape := [...][2]string{
			DormantShape: {"[[", "]]"}, AmbientShape: {"(", ")"}, PerformingShape: {"{{", "}}"}, EveryShape: {"[", "]"},
		}[x.Shape]
		lines := []string{"<b>" + mermaidText(markSigns[x.Mark]+x.Head) + "</b>"}
		for _, l := range x.Lines {
			lines = append(lines, mermaidText(markSigns[l.Mark]+l.Text))
		}
		fmt.Fprintf(&b, "  b%d%s\"%s\"%s\n", i, shape[0], strings.Join(lines, "<br/>"), shape[1])
		if x.Start {
			fmt.Fprintf(&b, "  start((\"power-up\")) --> b%d\n", i)
		}
	}
	for _, a := range c.Arrows {
		line := "-->"
		if a.Waits || a.Mark == Removed {
			line = "-.->"
		} else if a.Mark == Added {
			line = "==>"
		}
		label := a.label()
		if a.Line >= 0 {
			label = strings.SplitN(c.Boxes[number[a.From]].Lines[a.Line].Text, " → ", 2)[0]
			for _, word := range a.words() {
				label += "\n" + word
			}
			label = markSigns[a.Mark] + label
		}
		if label != "" { // none where the box has the words
			label = "|\"" + strings.ReplaceAll(mermaidText(label), "\n", "<br/>") + "\"|"
		}
		fmt.Fprintf(&b, "  b%d %s%s b%d\n", number[a.From], line, label, number[a.To])
	}
	return []byte(b.String())
}

// mermaidText writes any text inside the quotes of a label.
func mermaidText(s string) string {
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		lines[i] = mermaidMarks.Replace(model.Visible(l))
	}
	return strings.Join(lines, "\n")
}

// Mermaid's own entity codes: # begins one, and a label's quotes end it.
var mermaidMarks = strings.NewReplacer("#", "#35;", `"`, "#quot;", "<", "#lt;", ">", "#gt;", "&", "#amp;", "`", "#96;", "\\", "#92;")

// mermaidTitle writes a YAML string. Mermaid knows no entity codes in a title
// and takes < and & for HTML, so signs that look alike stand for them.
func mermaidTitle(s string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "<", "‹", ">", "›", "&", "＆").Replace(model.Visible(s)) + `"`
}
