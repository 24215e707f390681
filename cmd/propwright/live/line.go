// Package live talks to a running prop over its serial line: it reads the prop's reports
// and sends presses. The format of both is in live.h of a firmware whose design says
// live = true.
//
// It knows the line and puts reports into sentences. It refuses to know who reads them.
package live

import (
	"bufio"
	"fmt"
	"io"
	"time"
)

// A Told is one line of a prop's reports.
type Told struct {
	What  byte // 'B', 'E', 'H', 'K', 'L', 'S', 'X' or 'Y', as live.h has it
	Which int
	Value uint32
	At    time.Duration // since power-up

	count uint8 // of lines before it, by which lost ones are noticed
}

// lineForm is how a line is written, without the sum of its characters.
const lineForm = "$%c %02X %08X %02X %08X"

// lineLength is how long a line is, without its end.
const lineLength = len("$S 0C 00012A5F 03 00000000*22")

// A Reader reads a prop's reports among whatever else comes over the line.
type Reader struct {
	in   *bufio.Reader
	last []byte // read since the last line: all, or the end of it
	all  int    // how many those are
}

// NewReader reads a serial line.
func NewReader(from io.Reader) *Reader { return &Reader{in: bufio.NewReader(from)} }

// mostStrange is after how many strange bytes they are told of without a line.
const mostStrange = 4096

// Next waits for the next whole line, and returns how many bytes before it were not part
// of one. The error is that of the serial line, io.EOF at its end. After many strange
// bytes, and with an error, there is no line: What is 0.
func (r *Reader) Next() (t Told, strange int, err error) {
	for r.all < mostStrange+lineLength {
		b, err := r.in.ReadByte()
		if err != nil {
			strange, r.last, r.all = r.all, nil, 0
			return Told{}, strange, err
		}
		r.last, r.all = append(r.last, b), r.all+1
		if b != '\n' {
			continue
		}
		if t, ok := parse(r.last[:len(r.last)-1]); ok {
			strange, r.last, r.all = r.all-lineLength-1, r.last[:0], 0
			return t, strange, nil
		}
	}
	// A line may have begun.
	r.last = append(r.last[:0], r.last[len(r.last)-lineLength:]...)
	strange, r.all = r.all-lineLength, lineLength
	return Told{}, strange, nil
}

// parse reads the line that a text ends with.
func parse(text []byte) (t Told, ok bool) {
	if len(text) < lineLength {
		return Told{}, false
	}
	if text = text[len(text)-lineLength:]; text[0] != '$' {
		return Told{}, false
	}
	var at uint32
	var which, sum uint8
	if _, err := fmt.Sscanf(string(text), lineForm+"*%02X", &t.What, &t.count, &at, &which, &t.Value, &sum); err != nil {
		return Told{}, false
	}
	t.Which, t.At = int(which), time.Duration(at)*time.Millisecond
	return t, string(text) == t.String()
}

// String returns the line without its end.
func (t Told) String() string {
	s := fmt.Sprintf(lineForm, t.What, t.count, t.At.Milliseconds(), t.Which, t.Value)
	var sum byte
	for _, c := range []byte(s[1:]) {
		sum ^= c
	}
	return fmt.Sprintf("%s*%02X", s, sum)
}

// press returns one of the two halves of a press, as live.h has it.
func press(number, button int) []byte {
	first, second := byte(0xB0|number), byte(button)
	return []byte{first, second, ^(first + second)}
}
