package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"propwright/cmd/propwright/store"
	"propwright/gen"
	"propwright/gen/card"
	"propwright/gen/chart"
	"propwright/gen/harness"
	"propwright/gen/sketch"
	"propwright/gen/tour"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/rehearsal"
)

func buildCommand() *cobra.Command {
	var b building
	cmd := &cobra.Command{
		Use:   "build [FILE]",
		Short: "Write the firmware and its tests",
		Long: `Write a prop's sketch, its hooks file and its test harness into a folder of
the prop's name, and for people a chart, the operator's card and a bench walk.
Without FILE the demo is built, a harbour heron.

A design with errors is not built. hooks.cpp is yours: once you have edited it
no build writes it. A build that does not compile with it says at which line and
ends with exit code 1. Any other file that was edited by hand is not
overwritten; then nothing is written, and the edit is shown with what to do.
With --set-aside such a file is kept as FILE.mine and a new one is written: move
what you want to keep into hooks.cpp.`,
		Example: `  propwright build
  propwright build harbour-heron.prop.toml -o sketches`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			s, err := b.build(cmd, args)
			if err != nil {
				return err
			}
			if b.asJSON {
				err = printJSON(cmd.OutOrStdout(), s)
			} else {
				err = s.print(cmd.OutOrStdout())
			}
			unusable := s.Findings.Count(check.Error) > 0 || // measured, it does not fit
				s.Memory != nil && s.Memory.fails
			if err == nil && unusable {
				err = errDesign
			}
			return err
		},
	}
	b.flags(cmd)
	cmd.Flags().BoolVar(&b.asJSON, "json", false, "print the summary, or what is wrong, as JSON")
	return cmd
}

// A building is a call that builds.
type building struct {
	out      string // the folder for the prop's folder
	setAside bool
	asJSON   bool
	linked   string // the folder that the linked firmware is left in; "": none
}

func (b *building) flags(cmd *cobra.Command) {
	cmd.Flags().StringVarP(&b.out, "out", "o", "out", "the folder to write the prop's folder into")
	cmd.Flags().BoolVar(&b.setAside, "set-aside", false, "keep files that were edited by hand as FILE.mine, and write new ones")
}

// build builds the design that the call names.
func (b *building) build(cmd *cobra.Command, args []string) (*summary, error) {
	d, err := load(args)
	if err != nil {
		return nil, showFaults(cmd, b.asJSON, err)
	}
	study := check.NewStudy(d)
	findings, err := study.Check(sketch.Rules())
	if err != nil {
		return nil, showFaults(cmd, b.asJSON, err)
	}
	if findings.Count(check.Error) > 0 {
		return nil, refuse(cmd, b.asJSON, d, findings)
	}
	scripts, err := scriptsOf(args)
	if err != nil {
		return nil, showFaults(cmd, b.asJSON, err)
	}
	dir := filepath.Join(b.out, sketch.Folder(d))
	files, err := write(study, dir, scripts)
	var blocked *gen.BlockedError
	var aside []string
	if errors.As(err, &blocked) {
		if !b.setAside {
			fmt.Fprint(cmd.ErrOrStderr(), blocked.Diffs)
			return nil, fmt.Errorf("%w; or build with --set-aside, which keeps them as FILE%s", err, gen.Aside)
		}
		if aside, err = gen.SetAside(blocked); err != nil {
			return nil, err
		}
		files, err = write(study, dir, scripts)
	}
	var stale staleError
	if errors.As(err, &stale) {
		return nil, errors.Join(errDesign, stale.show(cmd, b.asJSON))
	}
	if err != nil {
		return nil, showFaults(cmd, b.asJSON, err)
	}
	s, err := newSummary(cmd.Context(), study, findings, dir, files, b.linked)
	if err != nil {
		return nil, err
	}
	s.SetAside = aside
	return s, nil
}

// load reads the file that the call names, or the demo.
func load(args []string) (*model.Design, error) {
	if len(args) == 0 {
		return model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	}
	return model.Load(args[0])
}

// refuse shows the findings that stop a build.
func refuse(cmd *cobra.Command, asJSON bool, d *model.Design, findings check.Findings) error {
	var err error
	if asJSON {
		err = printJSON(cmd.OutOrStdout(), newReport(nil, findings))
	} else {
		err = printFindings(cmd.ErrOrStderr(), d.File, findings)
	}
	if err != nil {
		return err
	}
	return errDesign
}

// scriptsOf returns the rehearsals beside the file that the call names; the demo
// has none.
func scriptsOf(args []string) ([]*rehearsal.Script, error) {
	if len(args) == 0 {
		return nil, nil
	}
	return rehearsal.Beside(args[0])
}

// write generates all files of a design and writes them into its folder.
func write(s *check.Study, dir string, scripts []*rehearsal.Script) (gen.Report, error) {
	files, err := sketch.Files(s)
	if err != nil {
		return gen.Report{}, err
	}
	tests, err := harness.Files(s, files, scripts)
	if err != nil {
		return gen.Report{}, err
	}
	files = append(files, tests...)
	for _, forPeople := range []func(*check.Study) ([]gen.File, error){chart.Files, card.Files, tour.Files} {
		more, err := forPeople(s)
		if err != nil {
			return gen.Report{}, err
		}
		files = append(files, more...)
	}
	if err := os.MkdirAll(filepath.Dir(dir), 0o777); err != nil {
		return gen.Report{}, fmt.Errorf("cannot make the folder for the build: %w", err)
	}
	lock, err := store.Acquire(dir)
	var busy *store.BusyError
	if errors.As(err, &busy) {
		return gen.Report{}, fmt.Errorf("another build is writing %s; wait for its end, then build again", dir)
	}
	if err != nil {
		return gen.Report{}, err
	}
	defer lock.Release()
	tables := slices.IndexFunc(files, func(f gen.File) bool { return f.Path == "tables.h" })
	if stale := staleHooks(dir, files[tables].Text); stale != nil {
		return gen.Report{}, staleError(stale)
	}
	return gen.Write(dir, files)
}
