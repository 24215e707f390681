package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"propwright/gen/sketch"
	"propwright/model/check"
	"propwright/model/designs"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The sections named are those of "Static Analysis Results Interchange Format
// (SARIF) Version 2.1.0", OASIS Standard, 27 March 2020.

type object = map[string]any

// must gives a required property.
func must[T any](t *testing.T, o object, key, section string) T {
	t.Helper()
	v, ok := o[key].(T)
	require.True(t, ok, "section %s: %s is required, and is %v", section, key, o[key])
	return v
}

func sarifOf(t *testing.T, file string, wantCode int) []object {
	var out, errs bytes.Buffer
	require.Equal(t, wantCode, run([]string{"check", "--sarif", file}, &out, &errs), errs.String())
	require.Empty(t, errs.String())
	var log object
	require.NoError(t, json.Unmarshal(out.Bytes(), &log))

	require.Equal(t, "2.1.0", must[string](t, log, "version", "3.13.2"))
	schema, err := url.Parse(must[string](t, log, "$schema", "3.13.3"))
	require.NoError(t, err)
	require.True(t, schema.IsAbs(), "section 3.13.3: an absolute URI")
	runs := must[[]any](t, log, "runs", "3.13.4")
	require.Len(t, runs, 1)
	one := runs[0].(object)
	driver := must[object](t, must[object](t, one, "tool", "3.14.6"), "driver", "3.18.2")
	require.NotEmpty(t, must[string](t, driver, "name", "3.19.8"))
	require.Contains(t, []string{"utf16CodeUnits", "unicodeCodePoints"}, must[string](t, one, "columnKind", "3.14.17"))

	rules := must[[]any](t, driver, "rules", "3.19.23")
	seen := map[string]bool{}
	for _, r := range rules {
		r := r.(object)
		id := must[string](t, r, "id", "3.49.3")
		require.False(t, seen[id], "section 3.19.23: unique, %s", id)
		seen[id] = true
		for _, m := range []string{"shortDescription", "help"} {
			require.NotEmpty(t, must[string](t, must[object](t, r, m, "3.49"), "text", "3.12.3"))
		}
		requireLevel(t, must[object](t, r, "defaultConfiguration", "3.49.14"))
	}
	for _, r := range sketch.Rules() {
		require.True(t, seen[r.ID], r.ID)
	}

	var results []object
	for _, r := range must[[]any](t, one, "results", "3.14.23") {
		r := r.(object)
		results = append(results, r)
		index := int(must[float64](t, r, "ruleIndex", "3.27.6"))
		require.Less(t, index, len(rules))
		require.Equal(t, must[string](t, rules[index].(object), "id", "3.49.3"), must[string](t, r, "ruleId", "3.27.5"))
		requireLevel(t, r)
		require.NotEmpty(t, must[string](t, must[object](t, r, "message", "3.27.11"), "text", "3.11.8"))
		for _, l := range must[[]any](t, r, "locations", "3.27.12") {
			place := must[object](t, l.(object), "physicalLocation", "3.28.3")
			_, err := url.Parse(must[string](t, must[object](t, place, "artifactLocation", "3.29.3"), "uri", "3.4.3"))
			require.NoError(t, err)
			if region, ok := place["region"].(object); ok {
				require.GreaterOrEqual(t, must[float64](t, region, "startLine", "3.30.5"), 1.0)
				require.GreaterOrEqual(t, must[float64](t, region, "startColumn", "3.30.6"), 1.0)
			}
		}
	}
	return results
}

func requireLevel(t *testing.T, o object) {
	require.Contains(t, []string{"none", "note", "warning", "error"}, must[string](t, o, "level", "3.27.10"))
}

const ruleDesigns = "../../model/designs/rules/"

func TestSARIF(t *testing.T) {
	results := sarifOf(t, ruleDesigns+"dead-end.prop.toml", exitDesign)
	require.Len(t, results, 1)
	assert.Equal(t, "dead-end", results[0]["ruleId"])
	assert.Equal(t, "error", results[0]["level"])
	assert.Equal(t, object{"witness": []any{"hold sleep for 3s"}}, results[0]["properties"])
	assert.Equal(t, []any{object{"physicalLocation": object{
		"artifactLocation": object{"uri": ruleDesigns + "dead-end.prop.toml"},
		"region":           object{"startLine": 53.0, "startColumn": 1.0},
	}}}, results[0]["locations"])

	assert.Empty(t, sarifOf(t, ruleDesigns+"dead-end-mended.prop.toml", exitFine))
}

// A file's faults are results too; columns count characters, and a file's
// name becomes a URI.
func TestSARIFOfFaults(t *testing.T) {
	file := filepath.Join(t.TempDir(), "a heron.prop.toml")
	require.NoError(t, os.WriteFile(file, []byte("format = 1\nprop = { label = \"ääää\", colour = \"red\" }\n"), 0o600))
	var found bool
	for _, r := range sarifOf(t, file, exitCall) {
		require.Equal(t, fileRule, r["ruleId"])
		place := r["locations"].([]any)[0].(object)["physicalLocation"].(object)
		uri, err := url.Parse(place["artifactLocation"].(object)["uri"].(string))
		require.NoError(t, err)
		require.Equal(t, filepath.ToSlash(file), uri.Path)
		require.Equal(t, "file", uri.Scheme)
		if assert.ObjectsAreEqual(object{"startLine": 2.0, "startColumn": 26.0}, place["region"]) {
			found = true
		}
	}
	require.True(t, found, "colour stands in column 26")
}

// A fix, applied to the file as section 3.57 says, ends the result.
func TestSARIFFixes(t *testing.T) {
	tooFast, err := os.ReadFile(ruleDesigns + "too-fast.prop.toml")
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "heron.prop.toml")
	for _, c := range []struct {
		name, text string
		code       int
	}{
		{"a finding's", string(tooFast), exitDesign},
		{"a fault's", strings.Replace(string(designs.HarbourHeron), `max_speed = "150deg/s"`, `max_speed = "150°/s" # ä`, 1), exitCall},
	} {
		require.NoError(t, os.WriteFile(file, []byte(c.text), 0o600))
		results := sarifOf(t, file, c.code)
		require.Len(t, results, 1, c.name)
		fix := must[[]any](t, results[0], "fixes", "3.27.30")[0].(object)
		change := must[[]any](t, fix, "artifactChanges", "3.55.3")[0].(object)
		r := must[[]any](t, change, "replacements", "3.56.3")[0].(object)
		region := must[object](t, r, "deletedRegion", "3.57.3")
		text := must[string](t, must[object](t, r, "insertedContent", "3.57.4"), "text", "3.3.2")
		lines := strings.Split(c.text, "\n")
		n := int(region["startLine"].(float64)) - 1
		line := []rune(lines[n])
		lines[n] = string(line[:int(region["startColumn"].(float64))-1]) + text + string(line[int(region["endColumn"].(float64))-1:])
		require.NoError(t, os.WriteFile(file, []byte(strings.Join(lines, "\n")), 0o600))
		assert.Empty(t, sarifOf(t, file, exitFine), c.name)
	}
}

func TestExplain(t *testing.T) {
	rules, _, words := explained()
	for _, id := range rules {
		var out, errs bytes.Buffer
		require.Equal(t, exitFine, run([]string{"check", "--explain", id}, &out, &errs), errs.String())
		text, ok := check.Explain(id)
		require.True(t, ok, id)
		require.Equal(t, text, out.String())
	}
	for _, word := range words {
		var out, errs bytes.Buffer
		require.Equal(t, exitFine, run([]string{"check", "--explain", word}, &out, &errs), errs.String())
	}
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"--explain", "no-stpo"}, `there is no rule, key or element "no-stpo"; write "no-stop", a rule`},
		{[]string{"--explain", "anything"}, "the rules are:\n  unreachable-state\n"},
		{[]string{"--explain", "trap", "heron.prop.toml"}, "leave out heron.prop.toml"},
		{[]string{"--json", "--sarif", "heron.prop.toml"}, "none of the others can be"},
	} {
		var out, errs bytes.Buffer
		assert.Equal(t, exitCall, run(append([]string{"check"}, c.args...), &out, &errs))
		assert.Empty(t, out.String())
		assert.Contains(t, errs.String(), c.says)
	}
}

// What was not verified is said, and that there are results does not hide it.
func TestSARIFOfTooLarge(t *testing.T) {
	log := newSARIF(nil, nil, check.Findings{{Rule: "pin-clash", Message: "two"}})
	log.incomplete(fmt.Errorf("not verified: %w", check.ErrTooLarge))
	text, err := json.Marshal(log)
	require.NoError(t, err)
	var got object
	require.NoError(t, json.Unmarshal(text, &got))
	one := must[[]any](t, got, "runs", "3.13.4")[0].(object)
	assert.Len(t, must[[]any](t, one, "results", "3.14.23"), 1)
	i := must[[]any](t, one, "invocations", "3.14.11")[0].(object)
	assert.False(t, must[bool](t, i, "executionSuccessful", "3.20.14"))
	n := must[[]any](t, i, "toolExecutionNotifications", "3.20.21")[0].(object)
	assert.Equal(t, "not verified: too many situations", must[string](t, must[object](t, n, "message", "3.58.5"), "text", "3.11.8"))
	requireLevel(t, n)
}
