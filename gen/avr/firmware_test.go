package avr_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/avr"
	"propwright/model/board"
)

// What is no whole program for the chip is told by its place.
func TestIsFirmware(t *testing.T) {
	b, _ := board.ByName("atmega328p")
	file := filepath.Join(t.TempDir(), "prop.hex")
	const data, end = ":0400000001020304F2\n", ":00000001FF\n"
	for _, tc := range []struct{ text, says string }{
		{data + end, ""},
		{":0400000001020304F2\r\n:00000001FF\r\n\r\n", ""},
		{data + ":040000030000700089\n" + end, ""}, // where execution starts
		{"", "prop.hex is empty"},
		{"no firmware", "neither an Intel HEX file"},
		{"\x7fELF", "neither an Intel HEX file"},
		{":no firmware", "prop.hex:1: the line is damaged"},
		{data + ":0400000001020304F3\n" + end, "prop.hex:2: the line is damaged"},
		{data + ":04000000010203\n" + end, "prop.hex:2: the line is damaged"},
		{data + data, "prop.hex:2: the file was cut off here"},
		{end, "prop.hex holds no program"},
		{":020000040010EA\n" + data + end, "prop.hex:2: address 0x100000 is beyond"},
		{":020000021000EC\n" + data + end, "prop.hex:2: address 0x10000 is beyond"},
		{":0100000400FB\n" + data + end, "prop.hex:1: the line is damaged"},
		{":047FFE0001020304750\n" + end, "prop.hex:1: the line is damaged"},
		{":047FFE000102030475\n" + end, "prop.hex:1: address 0x7FFE is beyond"},
	} {
		require.NoError(t, os.WriteFile(file, []byte(tc.text), 0o666))
		if err := avr.IsFirmware(file, b); tc.says == "" {
			assert.NoError(t, err, tc.text)
		} else {
			assert.ErrorContains(t, err, tc.says, tc.text)
		}
	}
}
