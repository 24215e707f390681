package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"propwright/gen/chart"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/compare"
)

func diffCommand() *cobra.Command {
	var asJSON, forGit, facts bool
	var chartFile string
	cmd := &cobra.Command{
		Use:   "diff OLD NEW",
		Short: "Show what changed in what the prop does",
		Long: `Show what changed between two designs in what the prop does, not in text: what
presses do now and did not before, what no longer works, times, routines,
codes, limits, what the rules say, and the firmware's size. A file in another
order, or with other comments, does not differ.

OLD and NEW are files, or a file's revisions in git, REV:FILE:

  propwright diff HEAD~1:heron.prop.toml heron.prop.toml
  propwright diff v1:heron.prop.toml v2:heron.prop.toml --chart changes.svg

Git itself can use it. Put this line into .gitattributes:

  *.prop.toml diff=prop

and tell git, once in each clone:

  git config diff.prop.command "propwright diff --git"
  git config diff.prop.textconv "propwright diff --facts"

Then "git diff" shows what changed in the prop, and "git log -p" and
"git show" compare the list of what it is and does.`,
		Example: `  propwright diff HEAD:heron.prop.toml heron.prop.toml
  propwright diff last-year.prop.toml heron.prop.toml --chart changes.svg`,
		Args: func(cmd *cobra.Command, args []string) error {
			switch {
			case forGit && facts:
				return fmt.Errorf("--git and --facts are two different jobs; give one of them")
			case forGit && len(args) != 1 && len(args) != 7 && len(args) != 9:
				return fmt.Errorf("--git is for git's own calls: set diff.prop.command, see propwright diff --help")
			case forGit:
				return nil
			case facts:
				return named("FILE")(cmd, args)
			}
			return named("OLD", "NEW")(cmd, args)
		},
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			out := cmd.OutOrStdout()
			switch {
			case facts:
				return printFacts(out, args[0])
			case forGit && len(args) == 1: // git tells of a conflict
				_, err := fmt.Fprintf(out, "%s has a conflict\n", args[0])
				return err
			}
			old, now := version{name: args[0]}, version{name: args[len(args)-1]}
			if forGit {
				old, now = gitVersions(args)
				if !asJSON && chartFile == "" {
					return printForGit(out, old, now)
				}
			}
			d, err := newDifference(old, now)
			if err != nil {
				return showFaults(cmd, asJSON, err)
			}
			if chartFile != "" {
				if err := drawDifference(cmd, chartFile, d.compared); err != nil {
					return err
				}
			}
			if asJSON {
				return printJSON(out, d)
			}
			return d.print(out)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the difference, or what is wrong with a file, as JSON")
	cmd.Flags().StringVar(&chartFile, "chart", "", "also draw a chart into this file (.svg, .png, .dot, .mmd) with what is new and what is gone marked")
	cmd.Flags().BoolVar(&forGit, "git", false, "take the arguments that git gives to diff.prop.command")
	cmd.Flags().BoolVar(&facts, "facts", false, "list what one design is and does, sorted, for git's textconv")
	return cmd
}

// A difference is the command's result.
type difference struct {
	Old      string            `json:"old"`
	New      string            `json:"new"`
	Changes  []compare.Change  `json:"changes"`
	Verdicts *compare.Verdicts `json:"verdicts,omitempty"`
	NotTold  string            `json:"verdicts_missing,omitempty"` // why there are none
	OldSize  size              `json:"old_size"`
	NewSize  size              `json:"new_size"`
	OldRest  rest              `json:"old_rest"`
	NewRest  rest              `json:"new_rest"`

	compared *compare.Comparison
}

// size is the estimated size of the firmware in bytes. It is zero if no firmware can be
// made, or if the chip is unknown.
type size struct {
	Flash int `json:"flash"`
	SRAM  int `json:"sram"`
}

func newDifference(old, now version) (*difference, error) {
	was, err := old.load()
	if err != nil {
		return nil, err
	}
	is, err := now.load()
	if err != nil {
		return nil, err
	}
	c := compare.Compare(was, is)
	d := &difference{Old: old.title(), New: now.title(), Changes: c.Changes, compared: c}
	if d.Changes == nil {
		d.Changes = []compare.Change{} // [] in JSON, not null
	}
	if v, err := c.Verdicts(sketch.Rules()); err != nil {
		d.NotTold = err.Error()
	} else {
		d.Verdicts = &v
	}
	d.OldSize.Flash, d.OldSize.SRAM = sketch.Estimate(c.Old)
	d.NewSize.Flash, d.NewSize.SRAM = sketch.Estimate(c.New)
	d.OldRest, d.NewRest = restOf(c.Old), restOf(c.New)
	return d, nil
}

// areaHeads are the headings of areas.
var areaHeads = map[compare.Area]string{
	compare.AreaBehaviour: "What it does", compare.AreaTiming: "When it does it", compare.AreaState: "States",
	compare.AreaRoutine: "Routines", compare.AreaTrack: "Sounds", compare.AreaRemote: "Remote",
	compare.AreaInput: "Switches and sensors", compare.AreaOutput: "Rig", compare.AreaProp: "Prop",
	compare.AreaRequirement: "Requirements", compare.AreaWords: "Words for people",
}

var kindSigns = map[compare.Kind]string{
	compare.New: "+", compare.Gone: "-", compare.Changed: "~", compare.Renamed: "=",
}

func (d *difference) print(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s → %s\n", d.Old, d.New)
	var area compare.Area
	for _, c := range d.Changes {
		if c.Area != area {
			area = c.Area
			fmt.Fprintf(&b, "\n%s\n", areaHeads[area])
		}
		fmt.Fprintf(&b, "  %s %s\n", kindSigns[c.Kind], c)
	}
	if d.compared.Same() {
		b.WriteString("\nThe prop does the same.\n")
	}
	d.printVerdicts(&b)
	printRest(&b, d.OldRest, d.NewRest)
	if d.OldSize != d.NewSize && d.OldSize.Flash > 0 && d.NewSize.Flash > 0 {
		fmt.Fprintf(&b, "\nSize, estimated\n  flash %s → %s bytes (%+d), SRAM %s → %s (%+d)\n",
			model.FormatCount(d.OldSize.Flash), model.FormatCount(d.NewSize.Flash), d.NewSize.Flash-d.OldSize.Flash,
			model.FormatCount(d.OldSize.SRAM), model.FormatCount(d.NewSize.SRAM), d.NewSize.SRAM-d.OldSize.SRAM)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (d *difference) printVerdicts(b *strings.Builder) {
	if d.Verdicts == nil {
		fmt.Fprintf(b, "\nWhat the rules say is not known: %s\n", d.NotTold)
		return
	}
	if len(d.Verdicts.New)+len(d.Verdicts.Gone) > 0 {
		b.WriteString("\nWhat the rules say\n")
	}
	for _, list := range []struct {
		sign     string
		findings check.Findings
	}{{"+", d.Verdicts.New}, {"-", d.Verdicts.Gone}} {
		for _, f := range list.findings {
			fmt.Fprintf(b, "  %s %s %s: %s\n", list.sign, f.Severity, f.Rule, f.Message)
		}
	}
}

func drawDifference(cmd *cobra.Command, file string, c *compare.Comparison) error {
	ending := strings.ToLower(filepath.Ext(file))
	for _, f := range chartForms {
		if f.draw != nil && f.ending == ending {
			return f.deliver(cmd, file, chart.Compare(c))
		}
	}
	return fmt.Errorf("%s does not say what to draw: let it end in .svg, .png, .pdf, .dot or .mmd", file)
}
