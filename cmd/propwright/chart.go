package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/google/renameio/v2/maybe"
	"github.com/spf13/cobra"

	"propwright/gen/chart"
	"propwright/model"
)

// chartForms are what a chart can be written as, with the endings of files
// that mean it.
var chartForms = []struct {
	form   string
	ending string
	write  func(*model.Design, chart.View) (drawing, error)
}{
	{"svg", ".svg", drawn((*chart.Chart).SVG)},
	{"png", ".png", drawnPNG},
	{"dot", ".dot", drawn(func(c *chart.Chart) ([]byte, error) { return c.DOT(), nil })},
	{"mermaid", ".mmd", drawn(func(c *chart.Chart) ([]byte, error) { return c.Mermaid(), nil })},
	{"matrix", ".html", matrix((*chart.Table).HTML)},
	{"csv", ".csv", matrix((*chart.Table).CSV)},
}

// A drawing is a file's text, and what to tell of it.
type drawing struct {
	text []byte
	hint string
}

func drawn(write func(*chart.Chart) ([]byte, error)) func(*model.Design, chart.View) (drawing, error) {
	return func(d *model.Design, v chart.View) (drawing, error) {
		c, err := chart.New(d, v)
		if err != nil {
			return drawing{}, err
		}
		text, err := write(c)
		return drawing{text: text}, err
	}
}

func drawnPNG(d *model.Design, v chart.View) (drawing, error) {
	c, err := chart.New(d, v)
	if err != nil {
		return drawing{}, err
	}
	text, err := c.PNG()
	return drawing{text, pngHint(c)}, err
}

// pngHint tells of characters that stand as boxes in a chart's image.
func pngHint(c *chart.Chart) string {
	if missing := c.Missing(); missing != "" {
		return fmt.Sprintf("an image's font has no signs for %s: boxes stand for them; a chart in .svg uses the viewer's fonts", missing)
	}
	return ""
}

func matrix(write func(*chart.Table) ([]byte, error)) func(*model.Design, chart.View) (drawing, error) {
	return func(d *model.Design, v chart.View) (drawing, error) {
		if v != (chart.View{}) {
			return drawing{}, fmt.Errorf("the matrix shows all states and events; --state and --button are for pictures")
		}
		text, err := write(chart.Matrix(d))
		return drawing{text: text}, err
	}
}

func chartCommand() *cobra.Command {
	var out, form string
	var view chart.View
	cmd := &cobra.Command{
		Use:   "chart FILE",
		Short: "Draw a design's behaviour",
		Long: `Draw what leads from state to state. The chart goes to the standard output, or
with -o into a file, whose ending says what it is to be:

  svg       .svg    a picture; notes show where the pointer rests (the default)
  png       .png    a picture of dots
  dot       .dot    text for Graphviz
  mermaid   .mmd    text that many viewers of Markdown draw
  matrix    .html   the state–event matrix as a page
  csv       .csv    the same for a spreadsheet

What holds in every state, or in every state of a kind, stands once in a list
of its own. A dashed arrow is taken when the routine ends.`,
		Example: `  propwright chart heron.prop.toml -o heron.svg
  propwright chart heron.prop.toml --state watch -o watch.png
  propwright chart heron.prop.toml --button hush --as mermaid`,
		Args:              named("FILE"),
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			write, err := chartForm(form, out)
			if err != nil {
				return err
			}
			d, err := model.Load(args[0])
			if err != nil {
				return err
			}
			x, err := write(d, view)
			if err != nil {
				return err
			}
			return x.deliver(cmd, out)
		},
	}
	cmd.Flags().StringVarP(&out, "out", "o", "", "the file to write; - is the standard output")
	cmd.Flags().StringVar(&form, "as", "", "svg, png, dot, mermaid, matrix or csv, whatever the file's ending")
	cmd.Flags().StringVar(&view.State, "state", "", "only this state, what leads to it and what leads away")
	cmd.Flags().StringVar(&view.Button, "button", "", "only what this button does")
	return cmd
}

// chartForm is the form that --as names, or else the file's ending, or SVG.
func chartForm(form, out string) (func(*model.Design, chart.View) (drawing, error), error) {
	var forms, endings []string
	ending := strings.ToLower(filepath.Ext(out))
	toFile := out != "" && out != "-"
	for _, f := range chartForms {
		if form == f.form || form == "" && toFile && ending == f.ending || form == "" && !toFile {
			return f.write, nil
		}
		forms, endings = append(forms, f.form), append(endings, f.ending)
	}
	if form == "" {
		return nil, fmt.Errorf("%s does not say what to write: let it end in one of %s, or add --as", out, strings.Join(endings, " "))
	}
	return nil, fmt.Errorf("%q is no form of a chart: write --as with one of %s", form, strings.Join(forms, ", "))
}

func (x drawing) deliver(cmd *cobra.Command, out string) error {
	if err := deliver(cmd, out, x.text); err != nil {
		return err
	}
	if x.hint != "" {
		fmt.Fprintln(cmd.ErrOrStderr(), x.hint)
	}
	return nil
}

// deliver writes what a command made into a file, whole or not at all, or to
// the standard output.
func deliver(cmd *cobra.Command, out string, text []byte) error {
	if out == "" || out == "-" {
		_, err := cmd.OutOrStdout().Write(text)
		return err
	}
	if err := maybe.WriteFile(out, text, 0o666); err != nil {
		return fmt.Errorf("%s cannot be written: %w", out, err)
	}
	fmt.Fprintf(cmd.ErrOrStderr(), "%s: written\n", out)
	return nil
}
