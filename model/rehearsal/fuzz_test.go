package rehearsal_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/rehearsal"
)

// A script is read as it is written, and a fault is in its text.
func FuzzParseScript(f *testing.F) {
	f.Add([]byte("press wake\nwait 20s # a while\nexpect watch\n"))
	f.Add([]byte("\ufeffhold wake 1.2s\r\nrise gate\nrelease wake"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := rehearsal.ParseScript("s", text)
		if err != nil {
			var faults model.Faults
			require.ErrorAs(t, err, &faults)
			lines := strings.Split(string(text), "\n")
			for _, fault := range faults {
				require.NotEmpty(t, fault.Wrong)
				require.LessOrEqual(t, fault.Pos.Line, len(lines))
				if fault.Pos.Line > 0 {
					require.LessOrEqual(t, fault.Pos.Column, len(lines[fault.Pos.Line-1])+1)
				}
			}
			return
		}
		var written strings.Builder
		for _, l := range s.Lines {
			written.WriteString(l.String() + "\n")
		}
		again, err := rehearsal.ParseScript("s", []byte(written.String()))
		require.NoError(t, err, "%s", &written)
		require.Len(t, again.Lines, len(s.Lines))
		for i, l := range again.Lines {
			require.Equal(t, s.Lines[i].String(), l.String())
		}
	})
}
