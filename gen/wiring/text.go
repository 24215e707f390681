package wiring

import (
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"propwright/gen"
	"propwright/gen/letters"
)

// cautions end every plan.
func cautions() []string {
	return append(slices.Clone(gen.Cautions), "The values are common practice; the data sheets of your parts come first.")
}

// Text returns the plan as a table, in lines of at most 80 characters unless names
// are long.
func (p *Plan) Text() []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", p.heading())
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "pin\t\tpart\twhat\tseries\t10 kΩ to\tfeed\tnotes")
	for _, w := range p.Wires {
		port := w.Port
		if w.Bus != 0 {
			port = fmt.Sprintf("0x%02x", uint8(w.Bus))
		}
		port = strings.TrimSpace(w.Analog + " " + port)
		fmt.Fprintf(t, "%3d\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", w.Pin, port, w.Part, w.What, w.Series, w.Pull, w.Feed, numbers(w.Notes))
	}
	t.Flush()
	b.WriteString("\n")
	if len(p.Buses) > 0 {
		paragraph(&b, "", "Numbers with an address beside them are channels of the expander there.")
		b.WriteString("\n")
	}
	for _, f := range p.Feeds {
		paragraph(&b, fmt.Sprintf("%-8s", f.Name), f.What+" "+numbers(f.Notes))
	}
	b.WriteString("\n")
	for i, n := range p.Notes {
		paragraph(&b, fmt.Sprintf("%2d. ", i+1), n)
	}
	b.WriteString("\n")
	for _, c := range cautions() {
		paragraph(&b, "- ", c)
	}
	return []byte(b.String())
}

func (p *Plan) heading() string { return fmt.Sprintf("Wiring of %s, pins of the %s", p.Title, p.Board) }

// paragraph writes a text in lines, the first after a mark.
func paragraph(b *strings.Builder, mark, text string) {
	for _, line := range letters.Wrap(text, letters.Columns(78-len(mark))) {
		b.WriteString(mark + line + "\n")
		mark = strings.Repeat(" ", len(mark))
	}
}

// numbers returns those of notes, as "[1, 2]".
func numbers(notes []int) string {
	if len(notes) == 0 {
		return ""
	}
	return strings.ReplaceAll(fmt.Sprint(slices.Sorted(slices.Values(notes))), " ", ", ")
}
