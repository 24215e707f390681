package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"github.com/google/renameio/v2/maybe"
	"github.com/spf13/cobra"

	"propwright/gen/chart"
	"propwright/gen/trace"
	"propwright/model"
)

// A chartForm is a file format, with its endings, of a drawing, of the matrix as a
// table, or of the trace of a routine.
type chartForm struct {
	name   string
	ending string
	draw   func(*chart.Chart) ([]byte, error) // nil of a table
	list   func(*chart.Table) ([]byte, error) // nil of a drawing
	play   func(*trace.Trace) ([]byte, error) // nil where a trace cannot be this
}

var chartForms = []chartForm{
	{name: "svg", ending: ".svg", draw: (*chart.Chart).SVG, play: (*trace.Trace).SVG},
	{name: "png", ending: ".png", draw: (*chart.Chart).PNG, play: (*trace.Trace).PNG},
	{name: "pdf", ending: ".pdf", draw: (*chart.Chart).PDF, play: (*trace.Trace).PDF},
	{name: "dot", ending: ".dot", draw: func(c *chart.Chart) ([]byte, error) { return c.DOT(), nil }},
	{name: "mermaid", ending: ".mmd", draw: func(c *chart.Chart) ([]byte, error) { return c.Mermaid(), nil }},
	{name: "matrix", ending: ".html", list: (*chart.Table).HTML},
	{name: "csv", ending: ".csv", list: (*chart.Table).CSV, play: (*trace.Trace).CSV},
}

// drawn is implemented by charts and traces.
type drawn interface {
	Missing() string
	Sheets() (n int, smallest float64)
}

// deliver writes a chart or a trace where -o says, and names the characters
// that are boxes in an image, and sheets that belong together.
func (f chartForm) deliver(cmd *cobra.Command, out string, c drawn) error {
	var text []byte
	var err error
	switch c := c.(type) {
	case *chart.Chart:
		text, err = f.draw(c)
	case *trace.Trace:
		text, err = f.play(c)
	}
	if err != nil {
		return err
	}
	if err := deliver(cmd, out, text); err != nil || f.name != "png" && f.name != "pdf" {
		return err
	}
	if n, _ := c.Sheets(); f.name == "pdf" && n > 1 {
		fmt.Fprintf(cmd.ErrOrStderr(), "%d sheets of A4, which overlap: the line below each names its neighbours\n", n)
	}
	missingHint(cmd, c.Missing())
	return nil
}

// missingHint names the characters that are boxes in an image.
func missingHint(cmd *cobra.Command, missing string) {
	if missing != "" {
		fmt.Fprintf(cmd.ErrOrStderr(), "the font of a .png or a .pdf has no signs for %s: boxes stand for them; a drawing in .svg uses the viewer's fonts\n", missing)
	}
}

func chartCommand() *cobra.Command {
	var out, form, routine string
	var view chart.View
	cmd := &cobra.Command{
		Use:   "chart FILE",
		Short: "Draw a design's behaviour",
		Long: `Draw what leads from state to state. The chart goes to the standard output, or
with -o into a file, whose ending says what it is to be:

  svg       .svg    a picture; notes show where the pointer rests (the default)
  png       .png    a picture of dots
  pdf       .pdf    for print: sheets of A4, several where one would be too small
                    to read
  dot       .dot    text for Graphviz
  mermaid   .mmd    text that many viewers of Markdown draw
  matrix    .html   the state–event matrix as a page
  csv       .csv    the same for a spreadsheet

With --routine it is what the outputs do while a routine is played from rest, on
one time axis: positions and speeds with their limits, light in its colours,
sound, and the current with what the supply gives. It is a picture on a sheet of
A4 (svg, png, pdf), or a table with a row for each frame of 20 ms (csv).

What holds in every state, or in every state of a kind, is said once in a list
of its own. A dashed arrow is taken when the routine ends.`,
		Example: `  propwright chart heron.prop.toml -o heron.svg
  propwright chart heron.prop.toml --state watch -o watch.png
  propwright chart heron.prop.toml --button hush --as mermaid
  propwright chart heron.prop.toml --routine greet -o greet.svg`,
		Args:              named("FILE"),
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			f, err := formOf(form, out)
			if err != nil {
				return err
			}
			d, err := model.Load(args[0])
			if err != nil {
				return err
			}
			if routine != "" {
				if view != (chart.View{}) {
					return fmt.Errorf("--routine shows outputs in time; --state and --button are for pictures of states")
				}
				if f.play == nil {
					return fmt.Errorf("a routine cannot be written as %s: write it as svg, png, pdf or csv", f.name)
				}
				t, err := trace.OfRoutine(d, routine)
				if err != nil {
					return err
				}
				return f.deliver(cmd, out, t)
			}
			if f.draw != nil {
				c, err := chart.New(d, view)
				if err != nil {
					return err
				}
				return f.deliver(cmd, out, c)
			}
			if view != (chart.View{}) {
				return fmt.Errorf("the matrix shows all states and events; --state and --button are for pictures")
			}
			text, err := f.list(chart.Matrix(d))
			if err != nil {
				return err
			}
			return deliver(cmd, out, text)
		},
	}
	outFlag(cmd, &out, "the file to write")
	cmd.Flags().StringVar(&form, "as", "", "svg, png, pdf, dot, mermaid, matrix or csv, whatever the file's ending")
	cmd.Flags().StringVar(&view.State, "state", "", "only this state, what leads to it and what leads away")
	cmd.Flags().StringVar(&routine, "routine", "", "what the outputs do in this routine, on one time axis")
	cmd.Flags().StringVar(&view.Button, "button", "", "only what this button does")
	return cmd
}

// formOf returns the form that --as names, or else the file's ending, or SVG.
func formOf(form, out string) (chartForm, error) {
	var forms, endings []string
	ending := strings.ToLower(filepath.Ext(out))
	toFile := out != "" && out != "-"
	for _, f := range chartForms {
		if form == f.name || form == "" && toFile && ending == f.ending || form == "" && !toFile {
			return f, nil
		}
		forms, endings = append(forms, f.name), append(endings, f.ending)
	}
	if form == "" {
		return chartForm{}, fmt.Errorf("%s does not say what to write: let it end in one of %s, or add --as", out, strings.Join(endings, " "))
	}
	return chartForm{}, fmt.Errorf("%q is not a form of a chart: write --as with one of %s", form, strings.Join(forms, ", "))
}

// deliver writes a command's result into a file, whole or not at all, or to the
// standard output.
func deliver(cmd *cobra.Command, out string, text []byte) error {
	if out == "" || out == "-" {
		w := cmd.OutOrStdout()
		if !utf8.Valid(text) { // a picture or a PDF
			w = unfiltered(w)
		}
		_, err := w.Write(text)
		return err
	}
	if err := maybe.WriteFile(out, text, 0o666); err != nil {
		return fmt.Errorf("%s cannot be written: %w", out, err)
	}
	fmt.Fprintf(cmd.ErrOrStderr(), "%s: written\n", out)
	return nil
}
