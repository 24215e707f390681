package presses

import (
	"bytes"
	"io"
	"testing"

	"github.com/stretchr/testify/require"
	"go.bug.st/serial"

	"propwright/model/ir"
)

// bytesPort is a serial port from which these bytes come.
type bytesPort struct {
	serial.Port
	*bytes.Reader
}

func (p bytesPort) Read(b []byte) (int, error) { return p.Reader.Read(b) }

// Whatever comes over a serial line, learning comes to an end with it, and what
// is learned can be written into a design.
func FuzzLine(f *testing.F) {
	f.Add([]byte("+9024 -4512 +564 -560 +564 -40000\n+9024 -2250 +564 -96000\n"))
	f.Add([]byte("garbage\n\x00\xff\n+1 -1\n"))
	f.Fuzz(func(t *testing.T, sent []byte) {
		line := newLine(bytesPort{Reader: bytes.NewReader(sent)})
		for range len(sent) + 1 {
			lesson, err := line.Next()
			if err != nil {
				if len(sent) < mostLine {
					require.ErrorIs(t, err, io.EOF)
				}
				return
			}
			if lesson.Code != (ir.Code{}) {
				_, err = ir.ParseCode(lesson.Code.String())
				require.NoError(t, err)
			}
		}
		t.Fatal("more lessons than bytes")
	})
}
