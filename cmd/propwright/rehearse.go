package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"propwright/gen/trace"
	"propwright/model/machine"
	"propwright/model/rehearsal"
)

func rehearseCommand() *cobra.Command {
	var script, traceTo string
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
  event crowd-near      your own code posts the event
  wait 20s              time passes
  expect watch          by now the prop must be in this state

The random sequence is the one that the design fixes with its seed, else that
of seed 1. With --trace every output over time goes into a file as well: a table
with a row for each frame of 20 ms (.csv), or a picture (.svg, .png).

The exit code is 1 where an expectation is not met.`,
		Example: "  propwright rehearse heron.prop.toml --script heron.greeting" + rehearsal.Suffix + "\n" +
			"  propwright rehearse heron.prop.toml --script heron.greeting" + rehearsal.Suffix + " --trace greeting.csv",
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			form, err := traceForm(traceTo)
			if err != nil {
				return err
			}
			d, err := load(args)
			if err != nil {
				return err
			}
			s, err := rehearsal.Load(script)
			if err != nil {
				return err
			}
			p, misses, err := rehearsal.Run(machine.Compile(d), s)
			if err != nil {
				return err
			}
			if asJSON {
				err = printJSON(cmd.OutOrStdout(), p.Stops())
			} else {
				err = printStops(cmd.OutOrStdout(), p.Stops())
			}
			if err != nil {
				return err
			}
			if traceTo != "" {
				t, err := trace.Of(p)
				if err != nil {
					return err
				}
				if err := form.deliver(cmd, traceTo, t); err != nil {
					return err
				}
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
	cmd.Flags().StringVar(&traceTo, "trace", "", "write every output over time into this file: .csv, .svg or .png")
	cmd.MarkFlagRequired("script")
	cmd.MarkFlagFilename("script", "txt")
	return cmd
}

// traceForm returns the form of a trace that a file's ending means; none without a
// file.
func traceForm(file string) (chartForm, error) {
	if file == "" {
		return chartForm{}, nil
	}
	for _, f := range chartForms {
		if f.play != nil && strings.EqualFold(filepath.Ext(file), f.ending) {
			return f, nil
		}
	}
	return chartForm{}, fmt.Errorf("%s does not say how to write the trace: let it end in .csv, .svg, .png or .pdf", file)
}

// printStops prints a line for each state and for each request in it: when, what, why.
func printStops(w io.Writer, stops []rehearsal.Stop) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, s := range stops {
		cause := s.Cause
		if s.Does != "" {
			cause += ": " + s.Does
		}
		fmt.Fprintf(t, "%d.%03d s\t%s\t%s\n", s.AtMS/1000, s.AtMS%1000, s.State, cause)
	}
	return t.Flush()
}
