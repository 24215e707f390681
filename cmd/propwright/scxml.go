package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/scxml"
)

func exportCommand() *cobra.Command {
	var out string
	cmd := withDesign(&cobra.Command{
		Use:   "export FILE",
		Short: "Write a design's behaviour as SCXML for other tools",
		Long: `Write a design's behaviour as SCXML (W3C Recommendation, 2015), which
interpreters and drawing tools of others read: states, transitions, timers,
back and what waits for a routine's end. Outputs, cues and codes have no place
in it. Events are called press.BUTTON, hold.BUTTON.MILLISECONDS,
release.BUTTON, rise.INPUT, fall.INPUT and event.EVENT.`,
		Example: "  propwright export heron.prop.toml -o heron.scxml",
	}, func(cmd *cobra.Command, d *model.Design) error {
		return deliver(cmd, out, scxml.Export(machine.Compile(d)))
	})
	outFlag(cmd, &out, "the file to write")
	return cmd
}

func importCommand() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "import CHART",
		Short: "Start a design from a chart in SCXML",
		Long: `Start a design from a chart in SCXML: one that export wrote, or a flat one of
another tool, whose states have no states in them. What a design cannot hold
is named with its line, and nothing is written.

A chart knows no codes, pins and cues; the design has some to be replaced, and
notes that say which. Where the chart has no stop button the design gets one.
A design that is there already is not overwritten.`,
		Example: "  propwright import gate.scxml -o gate.prop.toml",
		Args:    named("CHART"),
		RunE: func(cmd *cobra.Command, args []string) error {
			text, err := model.ReadFile(args[0], model.MaxFileSize)
			if err != nil {
				return err
			}
			d, err := scxml.Import(args[0], text)
			if err != nil {
				return err
			}
			if _, err := os.Lstat(out); out != "" && out != "-" && err == nil {
				return fmt.Errorf("%s is there already and was not touched; choose another name", out)
			}
			return deliver(cmd, out, d.Format())
		},
	}
	outFlag(cmd, &out, "the design file to write")
	return cmd
}
