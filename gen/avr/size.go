package avr

import (
	"debug/elf"
	"fmt"
)

// Size says what a linked sketch takes of the chip in bytes: of flash its
// code, its constants and the first values of its variables; of SRAM its
// variables, without the stack.
func Size(path string) (flash, sram int, err error) {
	f, err := elf.Open(path)
	if err != nil {
		return 0, 0, fmt.Errorf("%s: %w", path, err)
	}
	defer f.Close()
	if f.Machine != elf.EM_AVR {
		return 0, 0, fmt.Errorf("%s is not an AVR program but one for %v", path, f.Machine)
	}
	for _, s := range f.Sections {
		switch s.Name {
		case ".text":
			flash += int(s.Size)
		case ".data":
			flash += int(s.Size)
			sram += int(s.Size)
		case ".bss", ".noinit":
			sram += int(s.Size)
		}
	}
	return flash, sram, nil
}
