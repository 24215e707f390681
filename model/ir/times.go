package ir

import (
	"fmt"
	"strconv"
	"strings"
)

// A Time is one mark or space as it was measured, in microseconds.
type Time struct {
	Mark bool
	US   int
}

// A TimesError says where a text of times is wrong.
type TimesError struct {
	Line, Column int // from 1
	Wrong        string
}

func (e *TimesError) Error() string { return fmt.Sprintf("%d:%d: %s", e.Line, e.Column, e.Wrong) }

// unlisted is the silence between two frames where a text does not tell it.
const unlisted = 100_000

// ParseTimes reads saved times. Three forms are known, also mixed:
//
//	+9024 -4512 +564 …      as ir-ctl writes them, mark +, space -
//	pulse 9024 / space 4512 a line each, mode2 text; timeout is a space
//	9024 4512 564 …         marks and spaces in turn, the first one a mark
//
// Numbers are microseconds, with spaces, commas or line ends between them.
// An empty line stands between two frames, and so does a line that begins
// with a mark after one that ends with one. What follows # or // is a comment;
// the word carrier and its number are skipped. The error is a *TimesError.
func ParseTimes(text string) ([]Time, error) {
	var times []Time
	last := func() *Time {
		if len(times) == 0 {
			return nil
		}
		return &times[len(times)-1]
	}
	silence := func() {
		if l := last(); l != nil && l.Mark {
			times = append(times, Time{false, unlisted})
		} else if l != nil {
			l.US = max(l.US, unlisted)
		}
	}
	number := 0
	for line := range strings.Lines(text) {
		number++
		line = strings.TrimRight(line, "\r\n")
		line, _, _ = strings.Cut(line, "#")
		line, _, _ = strings.Cut(line, "//")
		if strings.TrimSpace(line) == "" {
			if line == "" {
				silence()
			}
			continue
		}
		word := "" // pulse, space, timeout or carrier
		for _, f := range fields(line) {
			fault := func(wrong string) error { return &TimesError{number, f.column, wrong} }
			switch f.text {
			case "pulse", "space", "timeout", "carrier":
				if word != "" {
					return nil, fault(fmt.Sprintf("a number was expected after %q, not %q", word, f.text))
				}
				word = f.text
				continue
			}
			us, err := strconv.ParseInt(f.text, 10, 64)
			if err != nil || us == 0 || us > 1<<31 || us < -1<<31 {
				return nil, fault(fmt.Sprintf("%q is not a time in microseconds; write for example 562, +562 or pulse 562", f.text))
			}
			signed := f.text[0] == '+' || f.text[0] == '-'
			t := Time{Mark: last() == nil || !last().Mark, US: int(max(us, -us))}
			switch {
			case word == "carrier":
				word = ""
				continue
			case word != "" && us < 0:
				return nil, fault(fmt.Sprintf("the number after %q has no sign; write %d", word, -us))
			case word != "":
				t.Mark = word == "pulse"
			case signed:
				t.Mark = us > 0
			}
			word = ""
			if l := last(); l != nil && l.Mark == t.Mark {
				if t.Mark {
					silence()
				} else { // two spaces in a row are one
					l.US += t.US
					continue
				}
			}
			if t.Mark || last() != nil {
				times = append(times, t)
			}
		}
		if word != "" {
			return nil, &TimesError{number, len(line) + 1, fmt.Sprintf("a number was expected after %q", word)}
		}
	}
	silence()
	return times, nil
}

// field is a word of a line.
type field struct {
	text   string
	column int
}

func fields(line string) []field {
	var fs []field
	start := -1
	for i, r := range line + " " {
		separates := r == ' ' || r == '\t' || r == ',' || r == ';' || r == '[' || r == ']' || r == '{' || r == '}'
		switch {
		case separates && start >= 0:
			fs = append(fs, field{line[start:i], start + 1})
			start = -1
		case !separates && start < 0:
			start = i
		}
	}
	return fs
}
