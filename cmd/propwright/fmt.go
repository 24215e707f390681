package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"propwright/cmd/propwright/store"
	"propwright/model"
)

func fmtCommand() *cobra.Command {
	return withDesign(&cobra.Command{
		Use:   "fmt FILE",
		Short: "Rewrite a design file in its canonical form",
		Long: `Rewrite a design file in its canonical form: the order of tables and keys,
blanks, units. Comments stay with the element they stand above. A file that
has faults is not touched.`,
	}, func(cmd *cobra.Command, d *model.Design) error {
		written, err := store.Change(d.File, func(d *model.Design) (*model.Design, error) { return d, nil })
		if written {
			fmt.Fprintf(cmd.OutOrStdout(), "%s: rewritten in canonical form\n", d.File)
		}
		return err
	})
}
