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

const (
	unlisted = 100_000 // microseconds between two frames where a text does not tell it
	gaveUp   = 100_000 // microseconds after which a receiver that gave up had heard the whole press
)

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
//
// ir-ctl leaves out the silence that follows a receiver's timeout (utils/ir-ctl/ir-ctl.c
// of v4l-utils: lirc_receive, leading_space). It writes the timeout as a word, in a
// comment at the end of a line, or as the space there, by its version. A timeout at
// which a repeat would have come ends the press.
func ParseTimes(text string) ([]Time, error) {
	var times []Time
	last := func() *Time {
		if len(times) == 0 {
			return nil
		}
		return &times[len(times)-1]
	}
	silence := func(us int) {
		if l := last(); l != nil && l.Mark {
			times = append(times, Time{false, us})
		} else if l != nil {
			l.US = max(l.US, us)
		}
	}
	number := 0
	for line := range strings.Lines(text) {
		number++
		line = strings.TrimRight(line, "\r\n")
		line, comment, _ := strings.Cut(line, "#")
		line, _, _ = strings.Cut(line, "//")
		if strings.TrimSpace(line) == "" {
			if line == "" {
				silence(unlisted)
			}
			continue
		}
		word := ""        // pulse, space, timeout or carrier
		timedOut := false // what was read last is a receiver's timeout
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
			timedOut = word == "timeout" || us <= -gaveUp
			word = ""
			if l := last(); l != nil && l.Mark == t.Mark {
				if t.Mark {
					silence(unlisted)
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
		if l := last(); timedOut && l != nil && !l.Mark && l.US >= gaveUp || timeoutIn(comment) >= gaveUp {
			silence(pressSilence)
		}
	}
	silence(unlisted)
	return times, nil
}

// timeoutIn returns the timeout that ir-ctl names in a comment, in microseconds; 0 is none.
func timeoutIn(comment string) int {
	_, after, _ := strings.Cut(comment, "timeout ")
	us, _ := strconv.Atoi(strings.TrimSpace(after))
	return us
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
