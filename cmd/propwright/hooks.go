package main

import (
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"propwright/gen"
	"propwright/model"
)

// stateConstant is a state's name as hooks.cpp writes it.
var stateConstant = regexp.MustCompile(`\bPW_STATE_[A-Z0-9_]+\b`)

// hookAdvice offers what a maker may want to change in hooks.cpp, which no
// build does: cases for states that it does not name, where it names the
// others, and states that it names and that are gone, which no compiler takes.
func hookAdvice(d *model.Design, dir string, files gen.Report) []string {
	const name = "hooks.cpp"
	if !slices.Contains(files.Kept, name) {
		return nil
	}
	text, err := model.ReadFile(filepath.Join(dir, name), model.MaxFileSize)
	if err != nil {
		return nil // what cannot be read needs no advice
	}
	named := map[string]bool{}
	for _, c := range stateConstant.FindAllString(string(text), -1) {
		named[c] = true
	}
	if len(named) == 0 {
		return nil
	}
	var advice []string
	there := map[string]bool{}
	for i := range d.States {
		c := "PW_STATE_" + strings.ToUpper(strings.ReplaceAll(d.States[i].Name, "-", "_"))
		there[c] = true
		if !named[c] {
			advice = append(advice, fmt.Sprintf("  for your code on entering %s, add to hook_enter: case %s: break;", d.States[i].Name, c))
		}
	}
	var gone []string
	for c := range named {
		if !there[c] {
			gone = append(gone, c)
		}
	}
	slices.Sort(gone)
	for _, c := range gone {
		advice = append(advice, fmt.Sprintf("  %s in it is not a state any more: take it out, or the sketch does not compile", c))
	}
	return advice
}
