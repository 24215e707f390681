package sketch

import (
	"fmt"
	"math"
	"strings"

	"propwright/model"
)

// mostBaudOff is the greatest relative error of a rate: some 2 % are common
// practice, no published source; 115,200 baud, which are 2.1 % off at 16 MHz,
// are in use everywhere.
const mostBaudOff = 0.025

// uart returns the UART's setting nearest to a rate: the divisor register, whether
// at double speed, and the relative error.
//
// The rate is the clock divided by 8 times the divisor and one, without double
// speed by 16 times that; the register has 12 bits: Microchip, "ATmega48A/PA/
// 88A/PA/168A/PA/328/P" data sheet, DS40002061, section "Clock Generation".
func uart(clockHz, baud int) (divisor int, double bool, off float64) {
	baud = max(baud, 1)
	per, double := 8, true
	if clockHz/8/baud > 4096 {
		per, double = 16, false
	}
	n := max(1, min(4096, int(math.Round(float64(clockHz)/float64(per*baud)))))
	return n - 1, double, float64(clockHz)/float64(per*n*baud) - 1
}

// usualRates lists the rates of serial boards: common practice, no
// published source.
var usualRates = []int{
	300, 600, 1200, 2400, 4800, 9600, 14_400, 19_200, 28_800, 38_400, 57_600, 76_800,
	115_200, 230_400, 250_000, 460_800, 500_000, 921_600, 1_000_000,
}

// ratesNear names the usual rates next to one that the UART can send at.
func ratesNear(clockHz, baud int) string {
	var below, above []string
	for _, rate := range usualRates {
		_, _, off := uart(clockHz, rate)
		switch {
		case math.Abs(off) > mostBaudOff:
		case rate < baud:
			below = []string{fmt.Sprint(rate)}
		case above == nil:
			above = []string{fmt.Sprint(rate)}
		}
	}
	return strings.Join(append(below, above...), " or ")
}

// serial sets the UART to a rate, which the key at a position asks for.
func (b *builder) serial(at model.Pos, baud int) {
	divisor, double, off := uart(b.board.ClockHz, baud)
	if math.Abs(off) > mostBaudOff {
		way := "slower"
		if off > 0 {
			way = "faster"
		}
		b.fault(at, fmt.Sprintf("choose a rate that it can, such as %s, and set the other side to the same", ratesNear(b.board.ClockHz, baud)),
			"the UART of the %s sends %.1f %% %s than %d baud: the other side misreads that",
			b.board.Name, math.Abs(off)*100, way, baud)
		return
	}
	u := b.UART
	b.setup("UBRR%d = %d; /* %d baud */", u, divisor, baud)
	if double {
		b.setup("UCSR%dA = _BV(U2X%d);", u, u)
	} else {
		b.setup("UCSR%dA = 0; /* where the boot loader may have left U2X%d on */", u, u)
	}
	b.setup("UCSR%dC = _BV(UCSZ%d1) | _BV(UCSZ%d0); /* 8 bits, no parity, one stop bit */", u, u, u)
}
