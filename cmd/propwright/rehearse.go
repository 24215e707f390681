package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"propwright/model/machine"
	"propwright/model/rehearsal"
)

func rehearseCommand() *cobra.Command {
	var script string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "rehearse [FILE] --script SCRIPT",
		Short: "Play a script of presses and waits at a prop that is not there",
		Long: `Play a script at the reference machine, which does what the firmware does, and
print every state that the prop goes through. Without FILE the prop is the
demo, a harbour heron.

A script has an act in each line, and what is expected in between; what stands
behind a # is for people:

  press wake            the button is pressed and let go at once
  hold wake for 900ms   it is kept down for that long
  hold wake             it is kept down until "let go wake"
  rise tail-switch      an input becomes active; fall: inactive
  wait 20s              time passes
  expect watch          by now the prop must be in this state

The random sequence is the one that the design fixes with its seed, else that
of seed 1. The exit code is 1 where an expectation is not met.`,
		Example:           "  propwright rehearse heron.prop.toml --script heron.greeting" + rehearsal.Suffix,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			d, err := load(args)
			if err != nil {
				return err
			}
			s, err := rehearsal.Load(script)
			if err != nil {
				return err
			}
			stops, misses, err := rehearsal.Run(machine.Compile(d), s)
			if err != nil {
				return err
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), stops)
			} else {
				err = printStops(cmd.OutOrStdout(), stops)
			}
			if err != nil {
				return err
			}
			for _, m := range misses {
				fmt.Fprintln(cmd.ErrOrStderr(), m.Error())
			}
			if misses != nil {
				return errDesign
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&script, "script", "", "the file with the script")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one array of {at_ms, state, cause}")
	cmd.MarkFlagRequired("script")
	cmd.MarkFlagFilename("script", "txt")
	return cmd
}

// printStops prints a line for each state: when, which, why.
func printStops(w io.Writer, stops []rehearsal.Stop) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, s := range stops {
		fmt.Fprintf(t, "%d.%03d s\t%s\t%s\n", s.AtMS/1000, s.AtMS%1000, s.State, s.Cause)
	}
	return t.Flush()
}
