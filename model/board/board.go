package board

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// A Board is a chip with its clock, its boot loader and the pins that a
// maker can reach; or, if Portable, what 32-bit boards with the same core have
// in common. A Board is shared and must not be changed.
type Board struct {
	Name       string   // as in a design file's [prop] board
	Usual      string   // what boards with the chip are usually called, a hint for whoever chooses one; source: the core's boards.txt
	MCU        string   // the chip as avr-gcc's -mmcu names it
	Variant    string   // the folder of its pin tables in the core
	Defines    []string // what its core has to be told by the compiler's options
	ClockHz    int
	FlashBytes int // of the chip
	BootBytes  int // of FlashBytes, taken by the boot loader
	SRAMBytes  int
	Pins       []Pin   // Pins[i].Number == i
	Analog     []int   // the number of the pin that the core calls A0, A1 and so on; one beyond Pins is an analogue input only
	Timers     []Timer // in order of their number
	UART       int     // the number of the hardware UART in its registers' names
	USB        bool    // a sketch is uploaded through the chip's own USB, not through the UART
	Noise      Noise
	Upload     Upload

	// Portable: no chip of its own but any that the core's own functions
	// drive. MCU, Variant, ClockHz, FlashBytes, BootBytes, SRAMBytes and Timers are
	// zero and the pins have a number only: the chip is not known. No firmware
	// for it has run on a chip, simulated or not.
	Portable bool
	Most     map[Use]int // how many of a kind it can drive; of others, as many as it has pins for
}

// Upload is how a sketch gets into the chip.
type Upload struct {
	Programmer string   // the boot loader's protocol, as avrdude names it; "": it has none
	Baud       int      // its speed
	IDs        []string // of the board on USB: vendor and product as "2341:0043"
	Touch      bool     // the boot loader starts when the port is opened at 1200 baud and closed
}

// Noise is where the chip finds a random number at power-up.
type Noise struct {
	Source string   // for a comment
	Select []string // the C statements that choose the converter's channel
}

// A Timer is one of the chip's timer/counters.
type Timer struct {
	Number int
	Bits   int    // width of the counter
	Core   string // what the core uses it for; "": free for a sketch
}

// A Pin is one digital pin.
type Pin struct {
	Number    int    // the core's pin number
	Port      byte   // 'B', 'C', 'D', …
	Bit       uint8  // in the port's registers
	Interrupt string // what tells every change of the pin, by its data sheet name: "PCINT18", else "INT4"; or ""
	Compare   string // the timer output on this pin by its data sheet name, as "OC1A"; or ""
	Roles     []Role // what else the pin may be needed for
}

// Role is a pin's special function, by the data sheet's name.
type Role string

const (
	RXD  Role = "RXD"  // the hardware UART's input
	TXD  Role = "TXD"  // the hardware UART's output
	INT0 Role = "INT0" // external interrupts
	INT1 Role = "INT1"
	INT2 Role = "INT2"
	INT3 Role = "INT3"
	INT4 Role = "INT4"
	INT5 Role = "INT5"
	INT6 Role = "INT6"
	SS   Role = "SS" // SPI
	MOSI Role = "MOSI"
	MISO Role = "MISO"
	SCK  Role = "SCK"
	SDA  Role = "SDA" // I²C
	SCL  Role = "SCL"
	LED  Role = "LED" // the board's own light; no function of the chip
)

// Has reports whether the pin has the role.
func (p Pin) Has(r Role) bool { return slices.Contains(p.Roles, r) }

// ByName returns the board of that name.
func ByName(name string) (*Board, bool) {
	for _, b := range boards {
		if b.Name == name {
			return b, true
		}
	}
	return nil, false
}

// Called is the name of the board that is usually called so, whatever its maker and
// revision; "" where none is.
func Called(usual string) string {
	words := strings.Fields(strings.ToLower(usual))
	words = slices.DeleteFunc(words, func(w string) bool {
		return slices.Contains([]string{"arduino", "board", "rev3", "r3", "pro", "2560"}, w)
	})
	for _, b := range boards {
		if slices.Contains(strings.Split(strings.ToLower(b.Usual), ", "), strings.Join(words, " ")) {
			return b.Name
		}
	}
	return ""
}

// Names lists the boards' names, the most usual first.
func Names() []string {
	names := make([]string, len(boards))
	for i, b := range boards {
		names[i] = b.Name
	}
	return names
}

// Pin returns the digital pin of that number.
func (b *Board) Pin(n int) (Pin, bool) {
	if n < 0 || n >= len(b.Pins) {
		return Pin{}, false
	}
	return b.Pins[n], true
}

// Number returns the number of the pin that the core calls by a name such as
// A0; a small letter is taken too.
func (b *Board) Number(name string) (n int, ok bool) {
	if len(name) < 2 || name[0] != 'A' && name[0] != 'a' {
		return 0, false
	}
	i, err := strconv.Atoi(name[1:])
	if err != nil || i < 0 || i >= len(b.Analog) {
		return 0, false
	}
	return b.Analog[i], true
}

// AnalogName is what the core calls pin n, as A0; "" where it only has its number.
func (b *Board) AnalogName(n int) string {
	if i := slices.Index(b.Analog, n); i >= 0 {
		return fmt.Sprintf("A%d", i)
	}
	return ""
}

// RolePin returns the pin that has the role.
func (b *Board) RolePin(r Role) (Pin, bool) {
	for _, p := range b.Pins {
		if p.Has(r) {
			return p, true
		}
	}
	return Pin{}, false
}

// UsableFlash is what a sketch may take of the flash, in bytes.
func (b *Board) UsableFlash() int { return b.FlashBytes - b.BootBytes }

var boards = []*Board{atmega328p, atmega2560, atmega32u4, portable32}
