package chart

import (
	"fmt"
	"html"
	"strconv"
	"strings"

	"propwright/gen/letters"
	"propwright/model"
)

// Colours only repeat what shape, line, sign and word say. They are of the
// palette that people of any colour vision tell apart: M. Okabe, K. Ito, "Color
// Universal Design (CUD)", 2002, revised 2008.
const (
	skyBlue     = "#56b4e9"
	bluishGreen = "#009e73"
	orange      = "#e69f00"
	blue        = "#0072b2"
	vermillion  = "#d55e00"
)

// fills are those of boxes, light enough to print text on: a quarter of the
// colour on white.
var fills = map[Shape]string{
	DormantShape: tint(skyBlue), AmbientShape: tint(bluishGreen), PerformingShape: tint(orange), EveryShape: "#f3f3f3",
}

func tint(colour string) string {
	v, _ := strconv.ParseUint(colour[1:], 16, 32) // one of those above
	part := func(shift int) uint64 { return 255 - (255-v>>shift&255)/4 }
	return fmt.Sprintf("#%02x%02x%02x", part(16), part(8), part(0))
}

var markColours = [...]string{Same: "#303030", Added: blue, Removed: vermillion}

var markSigns = [...]string{Same: "", Added: "+ ", Removed: "− "}

// DOT writes the chart in Graphviz's language. Names are quoted and numbered,
// so any text will do.
func (c *Chart) DOT() []byte {
	direction, ranksep := "LR", "0.7"
	if c.rows {
		direction, ranksep = "TB", "0.3"
	}
	var b strings.Builder
	fmt.Fprintf(&b, "digraph %s {\n", quoted(c.Title))
	b.WriteString("  rankdir=" + direction + "; nodesep=0.18; ranksep=" + ranksep + "; pad=0.2; bgcolor=white; tooltip=\" \";\n")
	b.WriteString("  fontname=\"Helvetica\"; fontsize=11; labelloc=t; labeljust=l;\n")
	if c.dense { // words cover the lines that pass under them
		b.WriteString("  splines=line;\n  outputorder=edgesfirst; mclimit=0.1; nslimit=2; nslimit1=2;\n")
	}
	fmt.Fprintf(&b, "  label=<%s>;\n", c.heading())
	b.WriteString("  node [fontname=\"Helvetica\", fontsize=11, margin=\"0.12,0.06\", color=\"#303030\"];\n")
	b.WriteString("  edge [fontname=\"Helvetica\", fontsize=9, color=\"#303030\", fontcolor=\"#202020\", arrowsize=0.7];\n")
	for i := range c.Boxes {
		c.dotBox(&b, i)
	}
	number := map[string]int{}
	for i, x := range c.Boxes {
		number[x.ID] = i
	}
	if c.rows {
		for i, columns := 0, c.columns(); i+columns < len(c.Boxes); i++ {
			fmt.Fprintf(&b, "  b%d -> b%d [style=invis, weight=0];\n", i, i+columns)
		}
	}
	for i, a := range c.Arrows {
		from := fmt.Sprintf("b%d", number[a.From])
		if a.Line >= 0 {
			from += fmt.Sprintf(":l%d:e", a.Line)
		}
		fmt.Fprintf(&b, "  %s -> b%d [id=\"arrow%d\", tooltip=%s", from, number[a.To], i, quoted(a.Tooltip))
		if label := a.label(); label != "" {
			fmt.Fprintf(&b, ", label=%s", quoted(label))
		}
		styles := ""
		switch {
		case a.Mark == Removed:
			styles = "dotted"
		case a.Waits:
			styles = "dashed"
		}
		if styles != "" {
			fmt.Fprintf(&b, ", style=%s", styles)
		}
		switch {
		case a.Mark != Same:
			fmt.Fprintf(&b, ", color=%q, fontcolor=%[1]q, penwidth=1.8", markColours[a.Mark])
		case a.Line >= 0:
			b.WriteString(", color=\"#707070\"")
		}
		b.WriteString("];\n")
	}
	b.WriteString("}\n")
	return []byte(b.String())
}

// lineWidth is the most that a line in a box is to have, in characters.
const lineWidth = 48

// A column of more triggers at one arrow is set as a paragraph.
const (
	mostLabelLines = 5
	labelWidth     = 28 // characters
)

// label returns the text at an arrow, with newlines. An arrow from a line has
// its words there.
func (a *Arrow) label() string {
	if a.Line >= 0 {
		return ""
	}
	if len(a.Labels) == 0 {
		return "" // the box has them
	}
	lines := a.Labels
	if len(lines) > mostLabelLines {
		words, _, _ := strings.Cut(a.text, " → ")
		lines = letters.Wrap(words, letters.Columns(labelWidth))
	}
	for _, word := range a.words() {
		lines = append(lines[:len(lines):len(lines)], word)
	}
	return markSigns[a.Mark] + strings.Join(lines, "\n")
}

// words returns what an arrow says behind its triggers.
func (a *Arrow) words() (words []string) {
	if a.Choice != "" {
		words = append(words, a.Choice)
	}
	if a.Waits {
		words = append(words, atEnd)
	}
	return words
}

func (c *Chart) heading() string {
	var b strings.Builder
	fmt.Fprintf(&b, `<b>%s</b><br align="left"/>`, text(c.Title))
	for _, k := range c.Legend {
		fmt.Fprintf(&b, `<font point-size="9" color="#505050">%s</font><br align="left"/>`, text(k.Text))
	}
	return b.String()
}

func (c *Chart) dotBox(b *strings.Builder, i int) {
	x := &c.Boxes[i]
	if x.Start && !c.rows {
		fmt.Fprintf(b, "  start [id=\"start\", shape=point, width=0.14, color=black, tooltip=\"power-up\"];\n")
		fmt.Fprintf(b, "  start -> b%d [id=\"power-up\", label=\"power-up\", tooltip=\"power-up\"];\n", i)
	}
	fmt.Fprintf(b, "  b%d [id=\"box%d\", tooltip=%s", i, i, quoted(x.Tooltip))
	if x.Shape == EveryShape {
		fmt.Fprintf(b, ", shape=plain, label=<%s>];\n", x.table())
		return
	}
	shape := map[Shape]string{
		DormantShape:    "shape=box, peripheries=2, style=\"filled",
		AmbientShape:    "shape=box, style=\"filled,rounded",
		PerformingShape: "shape=hexagon, margin=\"0,0.02\", style=\"filled",
	}[x.Shape]
	if x.Mark == Removed {
		shape += ",dotted"
	}
	fmt.Fprintf(b, ", %s\", fillcolor=%q", shape, fills[x.states()])
	if x.Mark != Same {
		fmt.Fprintf(b, ", color=%q, penwidth=2", markColours[x.Mark])
	}
	var label strings.Builder
	fmt.Fprintf(&label, "<b>%s</b>", text(markSigns[x.Mark]+x.Head))
	for _, l := range x.Lines {
		for _, part := range letters.Wrap(markSigns[l.Mark]+l.Text, letters.Columns(lineWidth)) {
			fmt.Fprintf(&label, `<br/><font point-size="9" color="%s">%s</font>`, markColours[l.Mark], text(part))
		}
	}
	fmt.Fprintf(b, ", label=<%s>];\n", label.String())
}

// table returns a box whose lines have arrows of their own.
func (x *Box) table() string {
	var b strings.Builder
	fmt.Fprintf(&b, `<table border="1" cellborder="0" cellspacing="0" cellpadding="2" bgcolor="%s">`, fills[x.states()])
	fmt.Fprintf(&b, `<tr><td align="left"><b>%s</b><br align="left"/></td></tr>`, text(markSigns[x.Mark]+x.Head))
	for i, l := range x.Lines {
		fmt.Fprintf(&b, `<tr><td align="left" port="l%d"><font point-size="9" color="%s">`, i, markColours[l.Mark])
		for j, part := range letters.Wrap(markSigns[l.Mark]+l.Text, letters.Columns(lineWidth)) {
			if j > 0 {
				b.WriteString("&#160;&#160;")
			}
			b.WriteString(text(part) + `&#160;<br align="left"/>`) // browsers' fonts are wider
		}
		b.WriteString("</font></td></tr>")
	}
	b.WriteString("</table>")
	return b.String()
}

// text makes any text fit into a label.
func text(s string) string { return html.EscapeString(model.Visible(s)) }

// quoted writes a string of DOT. In one, \ begins an escape, and \n breaks
// the line.
func quoted(s string) string {
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		l = strings.ReplaceAll(model.Visible(l), `\`, `\\`)
		lines[i] = strings.ReplaceAll(l, `"`, `\"`)
	}
	return `"` + strings.Join(lines, `\n`) + `"`
}
