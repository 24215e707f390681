package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"propwright/gen"
	"propwright/model"
)

const hooksFile = "hooks.cpp"

// hookName is the name of a state, an event or an output as hooks.cpp writes it.
var hookName = regexp.MustCompile(`\bPW_(?:STATE|EVENT|SERVO|SWITCH|STRIP)_[A-Z0-9_]+\b`)

// notCode matches a comment or a string of C++; strings, so that // in one does not
// begin a comment.
var notCode = regexp.MustCompile(`//[^\n]*|/\*(?s:.*?)\*/|"(?:\\.|[^"\\\n])*"`)

// ownHooks returns the text of a folder's hooks.cpp where a maker has edited it, with
// blanks for comments and strings. It is nil where the file is as a build wrote it
// or cannot be read.
func ownHooks(dir string) []byte {
	text, err := model.ReadFile(filepath.Join(dir, hooksFile), model.MaxFileSize)
	if err != nil || gen.Intact(hooksFile, text) {
		return nil
	}
	return notCode.ReplaceAllFunc(text, func(s []byte) []byte {
		return bytes.Map(func(r rune) rune {
			if r == '\n' {
				return r
			}
			return ' '
		}, s)
	})
}

// staleHooks returns the places where a folder's hooks.cpp names a state, an event or an
// output that a tables.h does not have: with it the sketch does not compile.
func staleHooks(dir string, tables []byte) model.Faults {
	there := hookName.FindAllString(string(tables), -1)
	file := filepath.Join(dir, hooksFile)
	var faults model.Faults
	text := ownHooks(dir)
	for i, line := range bytes.Split(text, []byte("\n")) {
		for _, at := range hookName.FindAllIndex(line, -1) {
			name := string(line[at[0]:at[1]])
			if slices.Contains(there, name) || bytes.Contains(text, []byte("#define "+name)) {
				continue
			}
			faults = append(faults, model.Fault{
				Pos:    model.Pos{File: file, Line: i + 1, Column: at[0] + 1},
				Wrong:  name + " is not in the design any more, so the sketch would not compile; nothing was written",
				Advice: "write its new name or take it out, then build again",
			})
		}
	}
	return faults
}

// A staleError ends a build that would not compile with the maker's hooks.cpp.
type staleError model.Faults

func (e staleError) Error() string { return model.Faults(e).Error() }

// show prints where hooks.cpp is to be changed.
func (e staleError) show(cmd *cobra.Command, asJSON bool) error {
	if asJSON {
		return printJSON(cmd.OutOrStdout(), newReport(model.Faults(e), nil))
	}
	_, err := fmt.Fprintln(cmd.ErrOrStderr(), e)
	return err
}

// hookAdvice offers cases for states that the maker's hooks.cpp does not name, if it
// names the others.
func hookAdvice(d *model.Design, dir string, files gen.Report) []string {
	if !slices.Contains(files.Kept, hooksFile) {
		return formerHooks(dir, files)
	}
	text, err := model.ReadFile(filepath.Join(dir, hooksFile), model.MaxFileSize)
	if err != nil || !bytes.Contains(text, []byte("PW_STATE_")) {
		return nil // what cannot be read needs no advice
	}
	named := hookName.FindAllString(string(text), -1)
	var advice []string
	for i := range d.States {
		if c := stateConstant(d.States[i].Name); !slices.Contains(named, c) {
			advice = append(advice, fmt.Sprintf("  for your code on entering %s, add to hook_enter: case %s: break;", d.States[i].Name, c))
		}
	}
	return advice
}

// formerHooks finds the hooks of a prop that has been renamed: in a folder beside the
// new one, if at least half of the names in them are in this design too. Once they are
// copied, the next build lists the places of the others.
func formerHooks(dir string, files gen.Report) []string {
	if len(files.Unchanged)+len(files.Kept) > 0 {
		return nil // the folder was there before
	}
	tables, err := os.ReadFile(filepath.Join(dir, "tables.h"))
	if err != nil {
		return nil
	}
	beside, _ := filepath.Glob(filepath.Join(filepath.Dir(dir), "*"))
	var advice []string
	for _, former := range beside {
		if named := hookName.FindAll(ownHooks(former), -1); len(named) > 0 && 2*len(staleHooks(former, tables)) <= len(named) {
			advice = append(advice, fmt.Sprintf("  was the prop renamed? code of yours is in %s: copy it over the new one", filepath.Join(former, hooksFile)))
		}
	}
	return advice
}

// stateConstant returns a state's name in the firmware.
func stateConstant(state string) string {
	return "PW_STATE_" + strings.ToUpper(strings.ReplaceAll(state, "-", "_"))
}
