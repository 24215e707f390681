package trim

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// connected is a line whose other end answers each line with what answer gives.
func connected(t *testing.T, answer func(line string, say io.Writer)) *Line {
	here, board := net.Pipe()
	go func() {
		lines := bufio.NewScanner(board)
		for lines.Scan() {
			answer(lines.Text(), board)
		}
	}()
	l := newLine(here, "the port")
	t.Cleanup(func() { l.Close(); board.Close() })
	return l
}

func TestLine(t *testing.T) {
	const brief = 50 * time.Millisecond
	sketch := func(line string, say io.Writer) {
		var servo, us, sum int
		switch n, _ := fmt.Sscan(line, &servo, &us, &sum); {
		case line == "?":
			fmt.Fprint(say, "trim gull\r\n")
		case n == 3 && sum == servo+us:
			fmt.Fprintf(say, "at %d %d\r\n", servo, us)
		}
	}

	l := connected(t, sketch)
	require.NoError(t, l.greet("gull", time.Second))
	assert.NoError(t, l.Move(2, 1500))
	assert.ErrorContains(t, l.greet("heron", brief), `is that of "gull", not of "heron"`)

	// A megabyte of noise before each answer, with and without line ends.
	noise := bytes.Repeat([]byte("\xff\x00at 1 15"), 1<<17)
	l = connected(t, func(line string, say io.Writer) {
		_, _ = say.Write(noise)
		_, _ = io.WriteString(say, "\n"+strings.Repeat("at 9 99\n", 1000))
		sketch(line, say)
	})
	require.NoError(t, l.greet("gull", 10*time.Second))
	assert.NoError(t, l.Move(0, 900))

	l = connected(t, func(string, io.Writer) {})
	assert.ErrorContains(t, l.greet("gull", brief), "nothing on the port answers as the trim sketch")

	// The line goes half-way through an answer.
	l = connected(t, func(line string, say io.Writer) {
		_, _ = io.WriteString(say, "at 0 9")
		say.(io.Closer).Close()
	})
	assert.ErrorContains(t, l.Move(0, 900), "the line to the board on the port is gone")
}
