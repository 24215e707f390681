package main

import (
	"bytes"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"propwright/model"
)

func fmtCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "fmt FILE",
		Short: "Rewrite a design file in its canonical form",
		Long: `Rewrite a design file in its canonical form: the order of tables and keys,
blanks, units. Comments stay with the element they stand above. A file that
has faults is not touched.`,
		Args:              named("FILE"),
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			d, err := model.Load(args[0])
			if err != nil {
				return err
			}
			text, err := os.ReadFile(args[0])
			if err != nil {
				return err
			}
			if bytes.Equal(d.Format(), text) {
				return nil
			}
			if err := d.Save(args[0]); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s: rewritten in canonical form\n", args[0])
			return nil
		},
	}
}
