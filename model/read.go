package model

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"propwright/model/tomltree"
)

// MaxFileSize is the most bytes that a design file may have: room for some
// 10,000 states with 20 transitions each, the largest designs that the check
// is measured with.
const MaxFileSize = 16 << 20

// Read reads a design file; file is its name for messages. The error is nil
// or Faults, all that are in the file, in file order. Beside faults Read
// returns what could be read, or nil where the text is not TOML.
func Read(file string, data []byte) (*Design, error) {
	if f := unreadable(file, data); f != nil {
		return nil, Faults{*f}
	}
	d := &Design{File: file}
	r := &reader{design: d}
	tree, faults := tomltree.Parse(file, data, "format")
	r.faults = faults
	if !tree.Whole {
		r.faults.Sort()
		return nil, r.faults
	}
	d.Head, d.Tail = tree.Head, tree.Tail
	if r.format(tree.Root) {
		r.root(tree.Root)
	}
	if len(r.faults) == 0 {
		return d, nil
	}
	r.faults.Sort()
	r.fold()
	return d, r.faults
}

// unreadable is the fault of a file that no design can be in, or nil.
func unreadable(file string, data []byte) *Fault {
	switch {
	case len(data) > MaxFileSize:
		return tooLarge(file, int64(len(data)))
	case len(bytes.TrimSpace(data)) == 0:
		return &Fault{Pos: Pos{File: file}, Wrong: "the file is empty", Advice: "start a design with `propwright new`"}
	}
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		wrong := ""
		switch {
		case data[i] == 0:
			wrong = "this is not a text file: it has a zero byte"
		case r == utf8.RuneError && n == 1:
			wrong = fmt.Sprintf("this is not a text file in UTF-8: it has the byte 0x%02X", data[i])
		}
		if wrong != "" {
			return &Fault{Pos: tomltree.PosAt(file, data, i), Wrong: wrong, Advice: "save it as UTF-8, or name the design file, which ends in .prop.toml"}
		}
		i += n
	}
	return nil
}

func tooLarge(file string, size int64) *Fault {
	return &Fault{
		Pos:    Pos{File: file},
		Wrong:  fmt.Sprintf("the file has %.1f MiB", float64(size)/(1<<20)),
		Advice: fmt.Sprintf("a design file has at most %d MiB: is this the right file?", MaxFileSize>>20),
	}
}

// format checks the format's number before anything else is read.
func (r *reader) format(root *table) bool {
	e := root.ByKey["format"]
	if e == nil {
		r.fault(root.Pos, "the file does not say its format", fmt.Sprintf("add format = %d above everything else", FormatVersion))
		return true
	}
	if n, err := parseWhole(e.Value, ""); err == nil && n == FormatVersion {
		return true
	}
	if _, err := strconv.Atoi(e.Value.Text); err == nil && e.Value.Kind == tomltree.Text {
		r.fault(e.Value.Pos, "a text stands where the format's number is wanted", fmt.Sprintf("write format = %s, without quotes", e.Value.Text))
		return e.Value.Text == strconv.Itoa(FormatVersion)
	}
	r.fault(e.Value.Pos, fmt.Sprintf("format %s is not known", strings.TrimSpace(e.Value.Text)), fmt.Sprintf("this version reads format %d: write format = %d, or use the version that wrote the file", FormatVersion, FormatVersion))
	return e.Value.Kind != tomltree.Integer
}

// root reads everything.
func (r *reader) root(root *table) {
	rows := tablesBelow("")
	topLevel := []string{"format"}
	for _, row := range rows {
		topLevel = append(topLevel, string(row.sort))
	}
	for _, e := range root.Entries {
		if slices.Contains(topLevel, e.Key) {
			continue
		}
		wrong, advice := fmt.Sprintf("a design has no %q", e.Key), "a file has "+strings.Join(topLevel, ", ")
		n := Nearest(e.Key, topLevel)
		if n != "" {
			advice = "write " + n
		}
		r.fault(e.Pos, wrong, advice)
		if n != "" && root.ByKey[n] == nil { // what is below it is no fault again
			e.Key, root.ByKey[n] = n, e
		}
	}
	// What holds where the file has no [prop].
	d := r.design
	d.Prop.Pos = root.Pos
	for _, f := range d.Prop.fields(r) {
		f.clear()
	}
	for _, row := range rows {
		row.list.read(r, row, root, 0)
	}
	r.start()
}

// titled is an element in a sentence, with its name where it has one.
func titled(noun string, t *table) string {
	if name := peek(t, "name"); name != "" {
		return fmt.Sprintf("%s %q", noun, name)
	}
	return "this " + noun
}
