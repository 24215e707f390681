package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"propwright/model"
)

// named requires one argument for each name, and says which one is missing or too
// much.
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

// flagHint says where to look after an unknown flag.
func flagHint(cmd *cobra.Command, err error) error {
	return fmt.Errorf("%w; %s --help lists what there is", err, cmd.CommandPath())
}

// withDesign makes c a command on one design file, its only argument.
func withDesign(c *cobra.Command, run func(*cobra.Command, *model.Design) error) *cobra.Command {
	c.Args = named("FILE")
	c.ValidArgsFunction = completeDesign
	c.RunE = func(cmd *cobra.Command, args []string) error {
		d, err := model.Load(args[0])
		if err != nil {
			return err
		}
		return run(cmd, d)
	}
	return c
}

// outFlag gives a command -o, for the file that deliver writes.
func outFlag(cmd *cobra.Command, out *string, what string) {
	cmd.Flags().StringVarP(out, "out", "o", "", what+"; - is the standard output")
}
