package main

import (
	_ "embed"
	"fmt"

	"github.com/spf13/cobra"
)

// licences is what TestLicences writes: the licences of what is compiled into
// the command, which ask to be passed on with it.
//
//go:embed licences.txt
var licences string

func licencesCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "licences",
		Short: "Show the licences of what is in this command",
		Long:  "Show the licences of the Go modules that are compiled into this command.",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprint(cmd.OutOrStdout(), licences)
			return err
		},
	}
}
