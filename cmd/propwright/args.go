package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
)

// named takes as many arguments as it has names for, and tells which of them
// is missing or too much.
func named(names ...string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		name := strings.TrimPrefix(cmd.CommandPath(), cmd.Root().Name()+" ")
		var wrong string
		switch {
		case len(args) < len(names):
			wrong = name + " needs " + strings.Join(names[len(args):], " and ")
		case len(args) > len(names):
			wrong = fmt.Sprintf("%s takes %s only, %q is too much", name, strings.Join(names, " and "), args[len(names)])
		default:
			return nil
		}
		example, _, _ := strings.Cut(strings.TrimSpace(cmd.Example), "\n")
		if example == "" {
			example = cmd.UseLine()
		}
		return fmt.Errorf("%s; for example: %s", wrong, example)
	}
}

// flagHint says where to look after a flag that there is not.
func flagHint(cmd *cobra.Command, err error) error {
	return fmt.Errorf("%w; %s --help lists what there is", err, cmd.CommandPath())
}
