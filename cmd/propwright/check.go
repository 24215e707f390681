package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
)

func checkCommand() *cobra.Command {
	var asJSON, asSARIF bool
	var word string
	cmd := &cobra.Command{
		Use:   "check FILE | --explain WORD",
		Short: "Show what is wrong with a design",
		Long: `Show what is wrong with a design: where, the shortest way to see it, and what
to do. Errors stop a build; warnings and notes don't. What is the same for more
than eight states is said once; --json and --sarif list all their names.

With --explain, show what a rule means on a bench, an example, how to mend it,
and where the rule comes from; or what a key of a design file is for, what it
may hold, and an example; or the keys of an element.`,
		Example: `  propwright check heron.prop.toml
  propwright check --explain no-stop
  propwright check --explain servo.max_accel`,
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
				return explain(cmd.OutOrStdout(), word)
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
				// Without the text, for example of too large a file, columns count bytes.
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
	cmd.Flags().StringVar(&word, "explain", "", "explain a `WORD` in place of checking: a rule, a key or an element")
	cmd.MarkFlagsMutuallyExclusive("json", "sarif", "explain")
	cmd.RegisterFlagCompletionFunc("explain", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		rules, _, words := explained()
		return append(rules, words...), cobra.ShellCompDirectiveNoFileComp
	})
	return cmd
}
