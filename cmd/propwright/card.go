package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"propwright/gen/card"
	"propwright/model"
	"propwright/model/check"
)

func cardCommand() *cobra.Command {
	var out, date string
	cmd := withDesign(&cobra.Command{
		Use:   "card FILE",
		Short: "Make the card for whoever holds the remote",
		Long: `Make the operator's card: one page of A5, or of A4 where its type would be too
small, with the stop button first, what each button does while the prop rests,
idles and performs, what switches and sensors do, what happens when it is left
alone, what to do when it does not answer, and the cautions. It ends with the
design's digest: cards of the same design bear the same one.

The card is a page of HTML for print, or a PDF or a picture in SVG where the
file's name ends in .pdf or .svg.`,
		Example: `  propwright card heron.prop.toml -o heron-card.pdf
  propwright card heron.prop.toml -o heron-card.html --date 2026-05-01`,
	}, func(cmd *cobra.Command, d *model.Design) error {
		write := (*card.Card).HTML
		switch ending := strings.ToLower(filepath.Ext(out)); {
		case ending == ".pdf":
			write = (*card.Card).PDF
		case ending == ".svg":
			write = (*card.Card).SVG
		case out != "" && out != "-" && ending != ".html":
			return fmt.Errorf("%s does not say what to write: let it end in .html, .pdf or .svg", out)
		}
		if _, err := time.Parse(time.DateOnly, date); date != "" && err != nil {
			return fmt.Errorf("--date %q is not a date: write it as 2026-05-01", date)
		}
		c := card.New(check.NewStudy(d), date)
		text, err := write(c)
		if err != nil {
			return err
		}
		if err := deliver(cmd, out, text); err != nil {
			return err
		}
		cardHints(cmd, c, strings.ToLower(filepath.Ext(out)) == ".pdf")
		return nil
	})
	outFlag(cmd, &out, "the file to write, .html, .pdf or .svg")
	cmd.Flags().StringVar(&date, "date", "", "a date to print on it, such as 2026-05-01")
	return cmd
}

// smallType is a type size, in points, that is hard to read at arm's length (common
// practice, no published source).
const smallType = 5

// cardHints prints what somebody who hands out the card should know.
func cardHints(cmd *cobra.Command, c *card.Card, pdf bool) {
	if size := c.Size(); size < smallType {
		fmt.Fprintf(cmd.ErrOrStderr(), "there is so much on the card that its type has %.1f points only: print it larger than %s\n", size, c.Paper())
	}
	if !pdf {
		return
	}
	if missing := c.Missing(); missing != "" {
		fmt.Fprintf(cmd.ErrOrStderr(), "a PDF's font has no signs for %s: names stand in place of labels that have them; a card in .html uses the browser's fonts\n", missing)
	}
}
