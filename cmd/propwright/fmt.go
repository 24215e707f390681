package main

import (
	"bytes"
	"fmt"
	"os"

	"github.com/spf13/cobra"

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
		text, err := os.ReadFile(d.File)
		if err != nil {
			return err
		}
		if bytes.Equal(d.Format(), text) {
			return nil
		}
		if err := d.Save(d.File); err != nil {
			return err
		}
		fmt.Fprintf(cmd.OutOrStdout(), "%s: rewritten in canonical form\n", d.File)
		return nil
	})
}
