package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"propwright/model"
)

// versionText returns what Go recorded about this propwright: its version, its commit,
// the Go version and the platform.
func versionText() string {
	version, commit, when := "(devel)", "unknown", ""
	if info, ok := debug.ReadBuildInfo(); ok {
		version = info.Main.Version
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision":
				commit = s.Value
			case s.Key == "vcs.time":
				when = ", " + s.Value
			case s.Key == "vcs.modified" && s.Value == "true":
				when += ", with changes"
			}
		}
	}
	return fmt.Sprintf("propwright %s\ncommit %s%s\n%s for %s/%s\ndesign files of format %d\n",
		version, commit, when, runtime.Version(), runtime.GOOS, runtime.GOARCH, model.FormatVersion)
}

func versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say which propwright this is",
		Long:  "Say which version of propwright this is, and the commit that it was built from.",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprint(cmd.OutOrStdout(), versionText())
			return err
		},
	}
}
