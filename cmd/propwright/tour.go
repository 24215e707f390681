package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"propwright/gen/tour"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/compare"
)

func tourCommand() *cobra.Command {
	var out, from string
	cmd := withDesign(&cobra.Command{
		Use:   "tour FILE",
		Short: "Write a walk that tries every button at the bench",
		Long: `Write numbered steps for somebody with the remote in hand and the prop before
them: what to press, and what must be seen. The walk presses every button in
every state; performing states that answer everything alike are tried once, and
all of them are seen and stopped. It is as short as can be, and leads back to
where it began. It ends with what it could not try, and why.

The walk is text, or a page to print and tick off where the file's name ends in
.html. With --from it tries only what does something else than in an older
version of the design: a file, or a file's revision in git, REV:FILE.`,
		Example: `  propwright tour heron.prop.toml -o tour.txt
  propwright tour heron.prop.toml --from HEAD~1:heron.prop.toml -o tour.html`,
	}, func(cmd *cobra.Command, d *model.Design) error {
		ending := strings.ToLower(filepath.Ext(out))
		if out != "" && out != "-" && ending != ".txt" && ending != ".html" {
			return fmt.Errorf("%s does not say what to write: let it end in .txt or .html", out)
		}
		var w *tour.Walk
		if from == "" {
			w = tour.Find(check.NewStudy(d))
		} else {
			old, err := version{name: from}.load()
			if err != nil {
				return err
			}
			if w = tour.Changed(compare.Compare(old, d)); len(w.Steps) == 0 && len(w.Left) == 0 {
				fmt.Fprintf(cmd.ErrOrStderr(), "the prop does what it did in %s: there is nothing to try\n", from)
				return nil
			}
		}
		text := w.Text()
		if ending == ".html" {
			var err error
			if text, err = w.HTML(); err != nil {
				return err
			}
		}
		return deliver(cmd, out, text)
	})
	outFlag(cmd, &out, "the file to write, .txt or .html")
	cmd.Flags().StringVar(&from, "from", "", "try only what is not as in this older version")
	return cmd
}
