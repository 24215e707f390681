package live

import (
	"bytes"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"propwright/model/rehearsal"
)

// Whatever comes over a serial line, every byte is a line's or is counted, what is said
// of it can be shown on a terminal, and what was heard can be written and read as a script.
func FuzzListen(f *testing.F) {
	b := newBench(f)
	told := func(what byte, which int, value uint32, at time.Duration, count uint8) string {
		if what == 'H' || what == 'B' {
			value |= b.mark
		}
		return Told{What: what, Which: which, Value: value, At: at, count: count}.String() + "\n"
	}
	f.Add([]byte(told('H', 1, 0, 0, 0) + told('S', 0, 0, 0, 1) + told('K', 1, 1, time.Second, 2) + told('E', 1, 0, time.Second, 3) + told('S', 1, 0, time.Second, 4) + told('B', 1, 0x0203, 2*time.Second, 5)))
	f.Add([]byte("\x00noise" + told('Y', 0, 0x12, time.Second, 9) + told('X', 9, 0x12345678, time.Second, 12) + "$S 0C 00012A" + told('L', 0, 300, time.Hour, 13)))
	f.Fuzz(func(t *testing.T, sent []byte) {
		b := newBench(t)
		all := 0
		for r := NewReader(bytes.NewReader(sent)); ; {
			told, strange, ended := r.Next()
			if all += strange; told.What != 0 {
				all += lineLength + 1
			}
			said, err := b.Take(told, strange, b.now)
			for _, s := range said {
				for _, c := range s {
					require.True(t, c >= ' ' && c <= '~', "%q", s)
				}
			}
			if err != nil {
				var other *MarkError
				require.ErrorAs(t, err, &other)
				return
			}
			if ended != nil {
				require.ErrorIs(t, ended, io.EOF)
				break
			}
		}
		require.Equal(t, len(sent), all)
		script, err := b.Script()
		if err != nil {
			return
		}
		_, err = rehearsal.ParseScript("heard", script.Format(""))
		require.NoError(t, err, "%s", script.Format(""))
	})
}
