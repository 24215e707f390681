package avr

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"os"

	"propwright/model/board"
)

// IsFirmware says what is wrong with a file that should hold a program for a board's
// chip: an ELF file for AVR or an Intel HEX file that is whole and fits into the flash.
// Its records are those of Intel, "Hexadecimal Object File Format Specification",
// revision A, 1988.
func IsFirmware(path string, b *board.Board) error {
	text, err := os.ReadFile(path)
	switch {
	case err != nil:
		return err
	case len(text) == 0:
		return fmt.Errorf("%s is empty: compile the firmware once more", path)
	case text[0] == ':':
		return isHex(path, text, b)
	}
	if _, _, err := Size(path); err != nil {
		return fmt.Errorf("%s is not firmware for the %s: it is neither an Intel HEX file, of which each line begins with a colon, nor an ELF file for AVR", path, b.Name)
	}
	return nil
}

// Kinds of records.
const (
	hexData    = 0
	hexEnd     = 1
	hexSegment = 2 // the next addresses count from 16 times this
	hexLinear  = 4 // the next addresses count from 65,536 times this
)

func isHex(path string, text []byte, b *board.Board) error {
	base, held := 0, 0
	lines := bytes.Split(bytes.TrimSpace(text), []byte("\n"))
	for i, line := range lines {
		place := fmt.Sprintf("%s:%d", path, i+1)
		record, err := hex.DecodeString(string(bytes.TrimPrefix(bytes.TrimSpace(line), []byte(":"))))
		sum := byte(0)
		for _, b := range record {
			sum += b
		}
		if err != nil || len(record) < 5 || len(record) != 5+int(record[0]) || sum != 0 {
			return fmt.Errorf("%s: the line is damaged: its length or its checksum does not hold; copy the file once more, or compile it", place)
		}
		address, data := int(binary.BigEndian.Uint16(record[1:])), record[4:len(record)-1]
		switch record[3] {
		case hexData:
			if held += len(data); base+address+len(data) > b.FlashBytes {
				return fmt.Errorf("%s: address 0x%X is beyond the %s's flash of %d bytes: the firmware is for another chip", place, base+address, b.Name, b.FlashBytes)
			}
		case hexSegment, hexLinear:
			if len(data) != 2 {
				return fmt.Errorf("%s: the line is damaged: an address has two bytes", place)
			}
			base = int(binary.BigEndian.Uint16(data)) << 4
			if record[3] == hexLinear {
				base <<= 12
			}
		case hexEnd:
			if held == 0 {
				return fmt.Errorf("%s holds no program: compile the firmware once more", path)
			}
			return nil
		}
	}
	return fmt.Errorf("%s:%d: the file was cut off here, as its last line, :00000001FF, is missing; copy it once more, or compile it", path, len(lines))
}
