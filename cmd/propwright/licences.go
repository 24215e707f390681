package main

import (
	_ "embed"
	"fmt"

	"github.com/spf13/cobra"
)

// licences are the licences of everything compiled into the command, which must be
// passed on with it. TestLicences writes the file.
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
