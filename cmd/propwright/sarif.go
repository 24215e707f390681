package main

import (
	"fmt"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"unicode/utf8"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/tomltree"
)

// The types of a log in the Static Analysis Results Interchange Format (SARIF)
// version 2.1.0, OASIS Standard, 27 March 2020, as far as they are used.

type sarifLog struct {
	Schema  string     `json:"$schema"`
	Version string     `json:"version"`
	Runs    []sarifRun `json:"runs"`
}

type sarifRun struct {
	Tool struct {
		Driver sarifDriver `json:"driver"`
	} `json:"tool"`
	ColumnKind  string            `json:"columnKind"`
	Results     []sarifResult     `json:"results"`
	Invocations []sarifInvocation `json:"invocations,omitempty"`
}

type sarifInvocation struct {
	Successful    bool                `json:"executionSuccessful"`
	Notifications []sarifNotification `json:"toolExecutionNotifications"`
}

type sarifNotification struct {
	Level   string       `json:"level"`
	Message sarifMessage `json:"message"`
}

// incomplete says in the log that not all rules were applied, and why.
func (l *sarifLog) incomplete(err error) {
	l.Runs[0].Invocations = []sarifInvocation{{
		Notifications: []sarifNotification{{Level: check.Error.String(), Message: sarifMessage{Text: err.Error()}}},
	}}
}

type sarifDriver struct {
	Name  string      `json:"name"`
	Rules []sarifRule `json:"rules"`
}

type sarifRule struct {
	ID               string       `json:"id"`
	ShortDescription sarifMessage `json:"shortDescription"`
	Help             sarifMessage `json:"help"`
	Configuration    struct {
		Level string `json:"level"`
	} `json:"defaultConfiguration"`
}

type sarifMessage struct {
	Text     string `json:"text"`
	Markdown string `json:"markdown,omitempty"`
}

type sarifResult struct {
	RuleID     string           `json:"ruleId"`
	RuleIndex  int              `json:"ruleIndex"`
	Level      string           `json:"level"`
	Message    sarifMessage     `json:"message"`
	Locations  []sarifLocation  `json:"locations"`
	Fixes      []sarifFix       `json:"fixes,omitempty"`
	Properties *sarifProperties `json:"properties,omitempty"`
}

type sarifLocation struct {
	Physical struct {
		Artifact sarifArtifact `json:"artifactLocation"`
		Region   *sarifRegion  `json:"region,omitempty"`
	} `json:"physicalLocation"`
}

type sarifArtifact struct {
	URI string `json:"uri"`
}

type sarifRegion struct {
	StartLine   int `json:"startLine"`
	StartColumn int `json:"startColumn"`
	EndColumn   int `json:"endColumn,omitempty"` // of the character behind it
}

// sarifFix changes the file so that the result is gone (section 3.55).
type sarifFix struct {
	Description sarifMessage  `json:"description"`
	Changes     []sarifChange `json:"artifactChanges"`
}

type sarifChange struct {
	Artifact     sarifArtifact      `json:"artifactLocation"`
	Replacements []sarifReplacement `json:"replacements"`
}

type sarifReplacement struct {
	Deleted  *sarifRegion `json:"deletedRegion"`
	Inserted sarifMessage `json:"insertedContent"`
}

// sarifProperties are this tool's own: how to see the fault, and all states that it is
// about if there are many.
type sarifProperties struct {
	Witness []string `json:"witness,omitempty"`
	States  []string `json:"states,omitempty"`
}

// fileRule stands for the faults of a file, which no rule of model/check finds.
const fileRule = "design-file"

// newSARIF makes the log of a file's faults, or of a design's findings; text
// is the file's, in which columns are counted.
func newSARIF(text []byte, faults model.Faults, findings check.Findings) sarifLog {
	run := sarifRun{ColumnKind: "unicodeCodePoints", Results: []sarifResult{}}
	run.Tool.Driver.Name = "propwright"
	index := map[string]int{}
	rule := func(id, doc, help string, level check.Severity) {
		r := sarifRule{ID: id, ShortDescription: sarifMessage{Text: doc}, Help: sarifMessage{Text: help, Markdown: help}}
		r.Configuration.Level = level.String()
		index[id] = len(run.Tool.Driver.Rules)
		run.Tool.Driver.Rules = append(run.Tool.Driver.Rules, r)
	}
	for _, r := range sketch.Rules() {
		help, _ := check.Explain(r.ID)
		rule(r.ID, r.Doc, help, r.Severity)
	}
	rule(fileRule, "the file is not a design", "Read the message: it says what is wrong and what to write.", check.Error)

	lines := strings.Split(string(text), "\n")
	result := func(id string, level check.Severity, message, advice string, pos model.Pos) *sarifResult {
		if advice != "" {
			message += "; " + advice
		}
		run.Results = append(run.Results, sarifResult{
			RuleID: id, RuleIndex: index[id], Level: level.String(),
			Message:   sarifMessage{Text: message},
			Locations: []sarifLocation{sarifPlace(lines, pos)},
		})
		return &run.Results[len(run.Results)-1]
	}
	for _, f := range faults {
		result(fileRule, check.Error, f.Wrong, f.Advice, f.Pos).Fixes = sarifFixes(lines, f.Pos, f.Instead)
	}
	for _, f := range findings {
		r := result(f.Rule, f.Severity, f.Message, f.Advice, f.Pos)
		r.Fixes = sarifFixes(lines, model.Pos{File: f.Pos.File, Line: f.Fix.Line, Column: f.Fix.Column}, f.Fix.Value)
		if len(f.Witness) > 0 || len(f.States) > 0 {
			r.Properties = &sarifProperties{States: f.States}
		}
		for _, a := range f.Witness {
			r.Properties.Witness = append(r.Properties.Witness, a.String())
		}
	}
	return sarifLog{
		Schema:  "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
		Version: "2.1.0",
		Runs:    []sarifRun{run},
	}
}

// sarifPlace returns a place in a file, its column counted in characters.
func sarifPlace(lines []string, pos model.Pos) (l sarifLocation) {
	path := url.URL{Path: filepath.ToSlash(pos.File)}
	if filepath.IsAbs(pos.File) {
		path.Scheme = "file"
	}
	l.Physical.Artifact.URI = path.String()
	if pos.Line < 1 {
		return l
	}
	column := max(pos.Column, 1)
	if pos.Line <= len(lines) {
		line := lines[pos.Line-1]
		column = utf8.RuneCountInString(line[:min(column-1, len(line))]) + 1
	}
	l.Physical.Region = &sarifRegion{StartLine: pos.Line, StartColumn: column}
	return l
}

// written is a text or a number as TOML writes it on one line.
var written = regexp.MustCompile(`^(?:"(?:[^"\\]|\\.)*"|[-+0-9][^\s,\]}#]*)`)

// sarifFixes writes a value in place of the one at a place of a file; there is no
// fix where the value is "" or the file has none at that place.
func sarifFixes(lines []string, pos model.Pos, value string) []sarifFix {
	if value == "" || pos.Line < 1 || pos.Line > len(lines) {
		return nil
	}
	line := lines[pos.Line-1]
	old := written.FindString(line[min(max(pos.Column, 1)-1, len(line)):])
	if old == "" {
		return nil
	}
	place := sarifPlace(lines, pos).Physical
	place.Region.EndColumn = place.Region.StartColumn + utf8.RuneCountInString(old)
	text := tomltree.Quote(value)
	return []sarifFix{{
		Description: sarifMessage{Text: fmt.Sprintf("write %s in place of %s", text, old)},
		Changes:     []sarifChange{{place.Artifact, []sarifReplacement{{place.Region, sarifMessage{Text: text}}}}},
	}}
}
