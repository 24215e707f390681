package board

import (
	"fmt"
	"slices"
	"strings"
)

// Use is what a design puts a pin to: an output's kind by its name in a design
// file, the infrared receiver or an input. Those that boards distinguish are
// listed.
type Use string

const (
	UsePixels   = Use("pixels")
	UseMessage  = Use("message")
	UseReceiver = Use("receiver")
	UseInput    = Use("input")
)

// Cannot says why pin n of the board cannot be put to the use, as a clause
// that names the pin and, where there is one, the pin to take; "" where it
// can.
//
// A message needs the hardware UART's output, a receiver a pin with an
// interrupt for its changes. Everything else takes any digital pin: pulses are
// timed by a timer that needs no pin of its own.
func (b *Board) Cannot(n int, use Use) string {
	p, ok := b.Pin(n)
	switch {
	case !ok && slices.Contains(b.Analog, n):
		return fmt.Sprintf("pin %d of the %s is an analogue input only (and missing on the 28-pin package); take one of 0..%d", n, b.Name, len(b.Pins)-1)
	case !ok:
		return fmt.Sprintf("the %s has no pin %d; its digital pins are 0..%d", b.Name, n, len(b.Pins)-1)
	case b.Portable:
		return "" // which pin can do what is the chip's matter
	case use == UseMessage && !p.Has(TXD):
		tx, _ := b.RolePin(TXD)
		return fmt.Sprintf("pin %d of the %s cannot send messages: the hardware UART sends on pin %d", n, b.Name, tx.Number)
	case use == UseReceiver && p.Interrupt == "":
		return fmt.Sprintf("pin %d of the %s cannot tell when it changes; a receiver can be on %s", n, b.Name, b.receiverPins())
	}
	return ""
}

// receiverPins lists the pins with an interrupt, runs of numbers as "8..11".
func (b *Board) receiverPins() string {
	var runs []string
	for first := 0; first < len(b.Pins); first++ {
		last := first
		for last < len(b.Pins) && b.Pins[last].Interrupt != "" {
			last++
		}
		switch last - first {
		case 0:
			continue
		case 1:
			runs = append(runs, fmt.Sprint(first))
		default:
			runs = append(runs, fmt.Sprintf("%d..%d", first, last-1))
		}
		first = last
	}
	return strings.Join(runs, ", ")
}

// Boot says what a pin does before the sketch runs, as a clause without its
// subject; "" where it floats, as most do. Source: the boot loaders of
// arduino-core-avr (optiboot.c, stk500boot.c, Caterina.c) and the boards'
// USB bridges, which are wired to the UART.
func (b *Board) Boot(n int) string {
	p, _ := b.Pin(n)
	switch {
	case p.Has(LED):
		return "blinks with the board's light while the boot loader runs, after each reset"
	case p.Has(TXD) && !b.USB:
		return "carries the boot loader's answers while a sketch is uploaded"
	case p.Has(RXD) && !b.USB:
		return "is driven by the computer's side while a sketch is uploaded"
	}
	return ""
}
