package store

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A journal that is taken for whole is what encode writes.
func FuzzDecode(f *testing.F) {
	f.Add(encode(sumOf([]byte("a")), []byte("name = \"x\"\n")))
	f.Add([]byte(journalTitle + "\nbegun from 00\nthese 0 bytes e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		base, text, ok := decode(data)
		if !ok {
			return
		}
		again, same, ok := decode(encode(base, text))
		require.True(t, ok)
		require.Equal(t, base, again)
		require.Equal(t, string(text), string(same))
	})
}
