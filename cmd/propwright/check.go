package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
)

func checkCommand() *cobra.Command {
	var asJSON, asSARIF bool
	var explain string
	cmd := &cobra.Command{
		Use:   "check FILE | --explain RULE",
		Short: "Show what is wrong with a design",
		Long: `Show what is wrong with a design: where, the shortest way to see it, and what
to do. Errors stop a build; warnings and notes don't. What is the same for more
than eight states is said once; --json and --sarif list all their names.

With --explain, show what a rule means on a bench, an example, how to mend it,
and where the rule comes from.`,
		Example: `  propwright check heron.prop.toml
  propwright check --explain no-stop`,
		Args: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("explain") {
				if len(args) > 0 {
					return fmt.Errorf("--explain looks at no design; leave out %s", args[0])
				}
				return nil
			}
			return named("FILE")(cmd, args)
		},
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("explain") {
				return explainRule(cmd.OutOrStdout(), explain)
			}
			d, err := model.Load(args[0])
			var study *check.Study
			var findings check.Findings
			if err == nil {
				study = check.NewStudy(d)
				findings, err = study.Check(sketch.Rules())
			}
			var faults model.Faults
			isFaults, tooLarge := errors.As(err, &faults), errors.Is(err, check.ErrTooLarge)
			var printed error
			switch {
			case asSARIF && (err == nil || isFaults || tooLarge):
				// Without its text, as of a file that is too large, columns stay as they are.
				text, _ := model.ReadFile(args[0], model.MaxFileSize)
				log := newSARIF(text, faults, findings)
				if tooLarge {
					log.incomplete(err)
				}
				printed = printJSON(cmd.OutOrStdout(), log)
				if isFaults {
					err = errShown
				}
			case err != nil && !tooLarge:
				return showFaults(cmd, asJSON, err)
			case asJSON:
				r := newReport(nil, findings)
				if tooLarge {
					r.NotVerified = err.Error()
				}
				printed = printJSON(cmd.OutOrStdout(), r)
			default:
				printed = printFindings(cmd.OutOrStdout(), args[0], findings)
				if err == nil && printed == nil {
					printed = printTimes(cmd.OutOrStdout(), study)
				}
			}
			if printed != nil {
				return printed
			}
			if err == nil && findings.Count(check.Error) > 0 {
				err = errDesign
			}
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print findings as JSON")
	cmd.Flags().BoolVar(&asSARIF, "sarif", false, "print findings as SARIF 2.1.0, which code hosts and CI understand")
	cmd.Flags().StringVar(&explain, "explain", "", "explain a `RULE` in place of checking")
	cmd.MarkFlagsMutuallyExclusive("json", "sarif", "explain")
	cmd.RegisterFlagCompletionFunc("explain", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return ruleIDs(), cobra.ShellCompDirectiveNoFileComp
	})
	return cmd
}

// ruleIDs lists all rules.
func ruleIDs() []string {
	var ids []string
	for _, r := range sketch.Rules() {
		ids = append(ids, r.ID)
	}
	return ids
}

func explainRule(w io.Writer, id string) error {
	text, ok := check.Explain(id)
	if !ok {
		advice := "the rules are:"
		for _, r := range ruleIDs() {
			advice += "\n  " + r
		}
		if near := model.Nearest(id, ruleIDs()); near != "" {
			advice = fmt.Sprintf("write %q", near)
		}
		return fmt.Errorf("there is no rule %q; %s", id, advice)
	}
	_, err := io.WriteString(w, text)
	return err
}
