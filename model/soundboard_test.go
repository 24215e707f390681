package model

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A step louder is the command 0x04, a step softer 0x05 (from memory); the sums are worked
// out by hand.
func TestSoundBoardSteps(t *testing.T) {
	board := (&Output{Kind: KindSound, Chip: YX5200}).soundBoard()
	assert.Equal(t, "7E FF 06 04 00 00 00 FE F7 EF", fmt.Sprintf("% X", board.louder))
	assert.Equal(t, "7E FF 06 05 00 00 00 FE F6 EF", fmt.Sprintf("% X", board.softer))
}
