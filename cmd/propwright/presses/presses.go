// Package presses reads presses of a remote's buttons, one after the other, from saved
// times or live from a board with the capture sketch, and teaches a design its buttons
// from them.
//
// It knows the serial line and the course of learning. It refuses to know who
// is asked for the presses, and how.
package presses

import (
	"bufio"
	"errors"
	"fmt"
	"io"

	"go.bug.st/serial"

	"propwright/cmd/propwright/ports"
	"propwright/model"
	"propwright/model/ir"
)

// A Source returns one press after the other, and io.EOF after the last. A live one
// waits for the next press.
type Source interface {
	Next() (ir.Lesson, error)
}

// longSilence is more than enough to end a press, in microseconds.
const longSilence = 1_000_000

// A Recording is a Source of saved times.
type Recording struct {
	times   []ir.Time
	learner ir.Learner
}

// FromTimes makes presses of times as ir.ParseTimes reads them.
func FromTimes(times []ir.Time) *Recording { return &Recording{times: times} }

// What a file of saved times and a keymap may have, in bytes: ten times what an
// hour of presses takes, and ten times the largest keymap that is known. The
// time that the library takes for a keymap grows with the square of its keys.
const (
	mostTimes  = 16 << 20
	mostKeymap = 256 << 10
)

// FromFile makes presses of a file of saved times.
func FromFile(path string) (*Recording, error) {
	text, err := model.ReadFile(path, mostTimes)
	if err != nil {
		return nil, err
	}
	times, err := ir.ParseTimes(string(text))
	if err != nil {
		return nil, fmt.Errorf("%s:%w", path, err)
	}
	return FromTimes(times), nil
}

// Keymap reads a keymap file of ir-keytable.
func Keymap(path string) (*ir.Keymap, error) {
	text, err := model.ReadFile(path, mostKeymap)
	if err != nil {
		return nil, err
	}
	m, err := ir.ParseKeymap(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return m, nil
}

// Next is Source's.
func (r *Recording) Next() (ir.Lesson, error) {
	for len(r.times) > 0 {
		t := r.times[0]
		r.times = r.times[1:]
		if len(r.times) == 0 && !t.Mark {
			t.US = max(t.US, longSilence) // nothing more comes
		}
		if l, ok := r.learner.Feed(t.Mark, t.US); ok {
			return l, nil
		}
	}
	return ir.Lesson{}, io.EOF
}

// baud is the speed at which the capture sketch sends.
const baud = 115200

// mostLine is the most bytes between two line ends, far more than the capture
// sketch sends.
const mostLine = 1 << 20

// A Line is a Source of presses from a board with the capture sketch. Closing it, from
// any goroutine, ends a waiting Next.
type Line struct {
	serial.Port
	lines   *bufio.Scanner
	learner ir.Learner
}

// Open opens a serial port. The error is that of ports.Open.
func Open(name string) (*Line, error) {
	port, err := ports.Open(name, baud)
	if err != nil {
		return nil, err
	}
	return newLine(port), nil
}

func newLine(port serial.Port) *Line {
	lines := bufio.NewScanner(port)
	lines.Buffer(nil, mostLine)
	return &Line{Port: port, lines: lines}
}

// Next is Source's. A line that cannot be read is the rest of one that began
// before the port was opened.
func (l *Line) Next() (ir.Lesson, error) {
	for l.lines.Scan() {
		times, err := ir.ParseTimes(l.lines.Text())
		if err != nil {
			continue
		}
		for _, t := range times {
			if lesson, ok := l.learner.Feed(t.Mark, t.US); ok {
				return lesson, nil
			}
		}
	}
	switch err := l.lines.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return ir.Lesson{}, errors.New("what comes from the port has no lines; is the capture sketch on that board?")
	case err != nil:
		return ir.Lesson{}, err
	}
	return ir.Lesson{}, io.EOF
}
