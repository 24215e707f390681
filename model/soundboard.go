package model

import "fmt"

// A SoundChip names what is on a sound board, and so how it is told what to play.
type SoundChip string

const (
	YX5200   SoundChip = "yx5200"  // frames of ten bytes, 9600 baud
	VS1000   SoundChip = "vs1000"  // lines of text, 9600 baud
	Triggers SoundChip = "trigger" // no serial line: a pin for each track, held low
)

// A soundBoard is how a board with one chip is talked to on a serial line. Its
// busy pin is low while it plays.
type soundBoard struct {
	chip   SoundChip
	baud   int
	tracks int // the most that it can be asked for by number, counted from 1
	play   func(track int) []byte
	stop   []byte
	// volume sets the loudness, from 1 to loudest; nil: it cannot be set.
	volume  func(to int) []byte
	loudest int
	// louder and softer change the loudness by a step.
	louder, softer []byte
}

var soundBoards = []soundBoard{
	{
		// Flyron Technology, "FN-M16P Embedded MP3 Audio Module Datasheet", sections
		// 3.1 to 3.3 and 3.6: 9600 baud, 8 bits, no parity; tracks 1 to 3000; levels
		// to 30. That its chip is the YX5200, and that 0x04 and 0x05 change the level by
		// one, are from memory.
		chip: YX5200, baud: 9600,
		tracks: 3000, play: func(track int) []byte { return yx5200(0x03, track) },
		stop:    yx5200(0x16, 0),
		loudest: 30, volume: func(to int) []byte { return yx5200(0x06, to) },
		louder: yx5200(0x04, 0), softer: yx5200(0x05, 0),
	},
	{
		// Adafruit, "Audio FX Sound Board", page "Serial Audio Control": 9600 baud, "#NN"
		// plays by number and "q" stops. Its library takes a number as a byte, and the
		// board counts from 0. Volume goes in steps only, by "+" and "-".
		chip: VS1000, baud: 9600,
		tracks: 256, play: func(track int) []byte { return fmt.Appendf(nil, "#%d\n", track-1) },
		stop:   []byte("q\n"),
		louder: []byte("+\n"), softer: []byte("-\n"),
	},
}

// yx5200 is a frame: start, version, length, command, no answer wanted, the
// parameter's high and low byte, the checksum's, end. The checksum is the two's
// complement of the sum from the version to the parameter.
func yx5200(command byte, parameter int) []byte {
	frame := []byte{0x7E, 0xFF, 0x06, command, 0x00, byte(parameter >> 8), byte(parameter)}
	var sum uint16
	for _, b := range frame[1:] {
		sum -= uint16(b)
	}
	return append(frame, byte(sum>>8), byte(sum), 0xEF)
}

// SoundChips lists the chips in the order the documentation gives them.
var SoundChips = func() []SoundChip {
	var all []SoundChip
	for _, b := range soundBoards {
		all = append(all, b.chip)
	}
	return append(all, Triggers)
}()

// soundBoard is how the board of a sound output is talked to, nil where it is not on a
// serial line.
func (o *Output) soundBoard() *soundBoard {
	for i := range soundBoards {
		if soundBoards[i].chip == o.Chip && o.Kind == KindSound {
			return &soundBoards[i]
		}
	}
	return nil
}
