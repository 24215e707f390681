package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"propwright/model"
	"propwright/model/check"
)

// severities in the order they are shown.
var severities = []check.Severity{check.Error, check.Warning, check.Note}

// tally returns "2 errors, 1 warning", or "no findings".
func tally(findings check.Findings) string {
	var parts []string
	for _, s := range severities {
		if n := findings.Count(s); n > 0 {
			parts = append(parts, counted(n, s.String()))
		}
	}
	if parts == nil {
		return "no findings"
	}
	return strings.Join(parts, ", ")
}

// counted returns "1 error" or "2 errors".
func counted(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}

// printFindings shows findings for people, errors first, each in one line
// that editors can jump to and indented lines below it.
func printFindings(w io.Writer, file string, findings check.Findings) error {
	var b strings.Builder
	for _, s := range severities {
		for _, f := range findings {
			if f.Severity == s {
				printFinding(&b, f)
			}
		}
	}
	if len(findings) == 0 {
		fmt.Fprintf(&b, "%s: ", file)
	}
	fmt.Fprintln(&b, tally(findings))
	_, err := io.WriteString(w, b.String())
	return err
}

func printFinding(b *strings.Builder, f check.Finding) {
	fmt.Fprintf(b, "%s: %s %s: %s\n", f.Pos, f.Severity, f.Rule, f.Message)
	if len(f.Witness) > 0 {
		fmt.Fprintf(b, "    to see it: %s\n", f.Seen())
	}
	if f.Advice != "" {
		fmt.Fprintf(b, "    what to do: %s\n", f.Advice)
	}
	b.WriteString("\n")
}

// A report is the JSON form of faults and findings.
type report struct {
	Faults   []fault        `json:"faults"`
	Findings check.Findings `json:"findings"`

	// NotVerified says which rules were not applied and why; "" where all were.
	NotVerified string `json:"not_verified,omitempty"`
}

type fault struct {
	File   string `json:"file"`
	Line   int    `json:"line,omitempty"`
	Column int    `json:"column,omitempty"`
	Wrong  string `json:"wrong"`
	Advice string `json:"advice,omitempty"`

	// Instead is the value that Advice says to write at that place.
	Instead string `json:"instead,omitempty"`
}

func newReport(faults model.Faults, findings check.Findings) report {
	r := report{Faults: []fault{}, Findings: findings}
	for _, f := range faults {
		r.Faults = append(r.Faults, fault{f.Pos.File, f.Pos.Line, f.Pos.Column, f.Wrong, f.Advice, f.Instead})
	}
	if findings == nil {
		r.Findings = check.Findings{} // [] in JSON, not null
	}
	return r
}

// showFaults prints a file's faults as JSON if that is asked for. Other errors are left
// to run.
func showFaults(cmd *cobra.Command, asJSON bool, err error) error {
	var faults model.Faults
	if !asJSON || !errors.As(err, &faults) {
		return err
	}
	return errors.Join(errShown, printJSON(cmd.OutOrStdout(), newReport(faults, nil)))
}

func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}
