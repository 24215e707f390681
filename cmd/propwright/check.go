package main

import (
	"github.com/spf13/cobra"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
)

func checkCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check FILE",
		Short: "Show what is wrong with a design",
		Long: `Show what is wrong with a design: where, the shortest way to see it, and what
to do. Errors stop a build; warnings and notes don't.`,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			d, err := model.Load(args[0])
			if err != nil {
				return showFaults(cmd, asJSON, err)
			}
			findings, err := sketch.Check(d)
			if err != nil {
				return showFaults(cmd, asJSON, err)
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), newReport(nil, findings))
			} else {
				err = printFindings(cmd.OutOrStdout(), args[0], findings)
			}
			if err == nil && findings.Count(check.Error) > 0 {
				err = errDesign
			}
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print findings as JSON")
	return cmd
}
