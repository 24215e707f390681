package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"propwright/model"
	"propwright/model/compare"
)

// printForGit prints what changed between two versions that git names. If one of them
// is not a design it says so and returns nil, since git gives up on all files if its
// driver fails on one.
func printForGit(w io.Writer, old, now version) error {
	switch {
	case old.missing():
		return printWhole(w, "+", "is new", now)
	case now.missing():
		return printWhole(w, "-", "is gone", old)
	}
	d, err := newDifference(old, now)
	if err != nil {
		return printUnread(w, old.title()+" → "+now.title(), err)
	}
	if err := d.print(w); err != nil {
		return err
	}
	_, err = io.WriteString(w, "\n") // the next file follows
	return err
}

func printUnread(w io.Writer, title string, why error) error {
	_, err := fmt.Fprintf(w, "%s\n\nThis cannot be read as a design; \"git diff --no-ext-diff\" shows its text.\n  %s\n\n",
		title, strings.ReplaceAll(why.Error(), "\n", "\n  "))
	return err
}

// printWhole lists everything about a design that only one side has.
func printWhole(w io.Writer, sign, what string, v version) error {
	facts, err := v.facts()
	if err != nil {
		return printUnread(w, v.title()+" "+what, err)
	}
	_, err = fmt.Fprintf(w, "%s %s\n\n  %s %s\n\n", v.title(), what, sign, strings.Join(facts, "\n  "+sign+" "))
	return err
}

// printFacts lists the facts about one design. Of a file that is not a design it prints
// what is wrong and then the text: an old revision cannot be mended, and git gives up
// if its textconv fails.
func printFacts(w io.Writer, name string) error {
	v := version{name: name}
	lines, err := v.facts()
	var faults model.Faults
	if errors.As(err, &faults) {
		text, unread := model.ReadFile(name, model.MaxFileSize)
		if unread != nil {
			return err // a revision: nobody but a person asks for it
		}
		lines = []string{"This cannot be read as a design:"}
		for _, f := range faults {
			f.Pos.File = "line" // not git's copy, which has another name every time
			lines = append(lines, "  "+strings.Replace(f.Error(), "line:", "line ", 1))
		}
		lines = append(lines, strings.TrimSuffix(string(text), "\n"))
	} else if err != nil {
		return err
	}
	_, err = io.WriteString(w, strings.Join(lines, "\n")+"\n")
	return err
}

// facts returns the facts about a version's design.
func (v version) facts() ([]string, error) {
	d, err := v.load()
	if err != nil {
		return nil, err
	}
	return compare.Facts(d), nil
}

// gitVersions returns the two that git names to an external diff: path, then file,
// hash and mode of the old and the new version, then the new path where it
// was renamed (see "git help git", GIT_EXTERNAL_DIFF).
func gitVersions(args []string) (old, now version) {
	label := func(name, hash, file string) version {
		v := version{name: name, from: file}
		if len(hash) >= 7 && strings.Trim(hash, "0") != "" {
			v.name = name + " at " + hash[:7]
		}
		return v
	}
	was, is := args[0], args[0]
	if len(args) > 7 {
		is = args[7]
	}
	return label(was, args[2], args[1]), label(is, args[5], args[4])
}

// missing reports whether git says that there is no such version.
func (v version) missing() bool { return v.from == "/dev/null" || v.from == os.DevNull }
