package board

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestByName(t *testing.T) {
	assert.Equal(t, "atmega328p", Names()[0], "the most usual first")
	for _, name := range Names() {
		b, ok := ByName(name)
		require.True(t, ok, name)
		assert.Equal(t, name, b.Name)
		for i, p := range b.Pins {
			assert.Equal(t, i, p.Number, "Pins is indexed by number")
		}
	}
	_, ok := ByName("atmega328")
	assert.False(t, ok)
}

// Microchip, ATmega48A/PA/88A/PA/168A/PA/328/P data sheet, DS40002061:
// section 1 "Pin Configurations" and section 14.3 "Alternate Port Functions".
// Arranged by function as there, the values from memory; the tests beside this
// one compare with the installed descriptions of the chip.
func TestDataSheet(t *testing.T) {
	pcint := map[string]int{ // PCINT number by port pin
		"PB0": 0, "PB1": 1, "PB2": 2, "PB3": 3, "PB4": 4, "PB5": 5,
		"PC0": 8, "PC1": 9, "PC2": 10, "PC3": 11, "PC4": 12, "PC5": 13,
		"PD0": 16, "PD1": 17, "PD2": 18, "PD3": 19, "PD4": 20, "PD5": 21, "PD6": 22, "PD7": 23,
	}
	compare := map[string]string{
		"PD6": "OC0A", "PD5": "OC0B", "PB1": "OC1A", "PB2": "OC1B", "PB3": "OC2A", "PD3": "OC2B",
	}
	roles := map[Role]string{
		RXD: "PD0", TXD: "PD1", INT0: "PD2", INT1: "PD3",
		SS: "PB2", MOSI: "PB3", MISO: "PB4", SCK: "PB5", SDA: "PC4", SCL: "PC5",
	}
	b, ok := ByName("atmega328p")
	require.True(t, ok)

	seen := map[string]bool{}
	for _, p := range b.Pins {
		at := fmt.Sprintf("P%c%d", p.Port, p.Bit)
		require.Contains(t, pcint, at, "pin %d", p.Number)
		assert.False(t, seen[at], "%s stands twice", at)
		seen[at] = true
		assert.Equal(t, fmt.Sprintf("PCINT%d", pcint[at]), p.Interrupt, "interrupt of %s", at)
		assert.Equal(t, compare[at], p.Compare, "compare output on %s", at)
	}
	assert.Len(t, seen, len(pcint))
	for r, want := range roles {
		p, ok := b.RolePin(r)
		require.True(t, ok, r)
		assert.Equal(t, want, fmt.Sprintf("P%c%d", p.Port, p.Bit), r)
	}
	// Section 15 to 18: two 8-bit timers and a 16-bit one.
	assert.Equal(t, []int{8, 16, 8}, []int{b.Timers[0].Bits, b.Timers[1].Bits, b.Timers[2].Bits})
}

func TestCannot(t *testing.T) {
	b, ok := ByName("atmega328p")
	require.True(t, ok)
	uses := []Use{Use("servo"), Use("spinner"), UsePixels, Use("pulse"), UseMessage, Use("switch"), UseReceiver, UseInput}
	for n := -1; n <= 22; n++ {
		for _, use := range uses {
			why := b.Cannot(n, use)
			can := n >= 0 && n <= 19 && (use != UseMessage || n == 1)
			assert.Equal(t, can, why == "", "pin %d as %s: %q", n, use, why)
		}
	}
	for _, c := range []struct {
		n    int
		use  Use
		says string
	}{
		{20, Use("servo"), "analogue input only"},
		{21, UseInput, "analogue input only"},
		{22, Use("servo"), "has no pin 22"},
		{-1, UseReceiver, "has no pin -1"},
		{9, UseMessage, "sends on pin 1"},
	} {
		assert.Contains(t, b.Cannot(c.n, c.use), c.says)
	}
}

// Not every pin of the larger chips can have a receiver.
func TestReceiverNeedsAnInterrupt(t *testing.T) {
	mega, _ := ByName("atmega2560")
	assert.Empty(t, mega.Cannot(2, UseReceiver))
	assert.Equal(t, "pin 5 of the atmega2560 cannot tell when it changes; a receiver can be on 0, 2..3, 10..15, 18..21, 50..53, 62..69",
		mega.Cannot(5, UseReceiver))
	assert.Empty(t, mega.Cannot(5, Use("servo")))
	usb, _ := ByName("atmega32u4")
	assert.Equal(t, "pin 12 of the atmega32u4 cannot tell when it changes; a receiver can be on 0..3, 7..11, 14..17",
		usb.Cannot(12, UseReceiver))
}

// Of a portable board nothing is known but that it has pins.
func TestPortable(t *testing.T) {
	b, ok := ByName("portable32")
	require.True(t, ok)
	assert.True(t, b.Portable)
	for _, use := range []Use{Use("servo"), UsePixels, UseMessage, UseReceiver, UseInput} {
		assert.Empty(t, b.Cannot(0, use))
		assert.Contains(t, b.Cannot(len(b.Pins), use), "has no pin 54")
	}
	assert.Zero(t, b.UsableFlash()+b.SRAMBytes+b.ClockHz)
}
