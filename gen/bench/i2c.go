package bench

import (
	"fmt"
	"strconv"
	"strings"
)

// A Device says how an I²C device behaves.
type Device int

const (
	Absent  Device = iota // nothing acknowledges its address; so are all at first
	Answers               // it acknowledges every byte
	Holds                 // it holds the clock low, so that no byte is ever done
)

// SetDevice sets how an I²C device behaves from a cycle on.
func (c *Chip) SetDevice(address int, how Device, at uint64) {
	c.t.Helper()
	c.command(at, "i %d %d %d", at, address, how)
}

// A Transfer is what a chip has written to an I²C device in one transaction.
type Transfer struct {
	At           uint64 // cycle of its start
	End          uint64 // cycle of its stop; 0: it has none
	Address      int
	Bytes        []byte
	Acknowledged bool // every byte and the address
}

// An i2cStep is a start with its address, a byte or a stop.
type i2cStep struct {
	at           uint64
	what         byte
	value        byte
	acknowledged bool
}

const (
	i2cStart = iota
	i2cByte
	i2cStop
)

// Transfers returns the transfers on the I²C bus so far.
func (c *Chip) Transfers() (all []Transfer) {
	for _, s := range c.i2c {
		if s.what == i2cStart {
			all = append(all, Transfer{At: s.at, Address: int(s.value >> 1), Acknowledged: s.acknowledged})
			continue
		}
		if len(all) == 0 {
			c.t.Fatalf("%.3f ms after power-up the I²C port does something before it has begun a transfer", float64(s.at)/Millisecond)
		}
		last := &all[len(all)-1]
		if s.what == i2cStop {
			last.End = s.at
			continue
		}
		last.Bytes = append(last.Bytes, s.value)
		last.Acknowledged = last.Acknowledged && s.acknowledged
	}
	return all
}

// Written reads the I²C bus between two cycles with sigrok's i2c decoder.
//
// simavr tells what is sent and moves no pin, so the lines are drawn as the chip
// would drive them at 100 kHz: that the bytes on the lines are those of the
// transactions is what the decoder shows, not the timing of their edges.
func (c *Chip) Written(from, to uint64) (all []Transfer) {
	c.t.Helper()
	for _, a := range c.sigrok("i2c", "scl=scl:sda=sda", "start:stop:nack:address-write:data-write:warnings", from, to, Microsecond) {
		what, hex, _ := strings.Cut(a.text, ": ")
		if what == "Start" {
			all = append(all, Transfer{At: from + a.start, Acknowledged: true})
			continue
		}
		if len(all) == 0 {
			continue // the end of a transfer that has begun before
		}
		last := &all[len(all)-1]
		value, err := strconv.ParseUint(hex, 16, 8)
		switch {
		case what == "Write": // the address's last bit
		case what == "Stop":
			last.End = from + a.end
		case what == "NACK":
			last.Acknowledged = false
		case what == "Address write" && err == nil:
			last.Address = int(value)
		case what == "Data write" && err == nil:
			last.Bytes = append(last.Bytes, byte(value))
		default:
			c.t.Fatalf("i2c decoder at cycle %d: %s", from+a.start, a.text)
		}
	}
	return all
}

// bitCycles is how long a bit takes at 100 kHz.
const bitCycles = 160

// i2cLines draws the clock and the data of the bus. Data changes a quarter of a
// bit after the clock has fallen.
func (c *Chip) i2cLines() (scl, sda []Edge) {
	at, high := uint64(0), true
	set := func(line *[]Edge, level bool, after uint64) {
		*line = append(*line, Edge{at + after, level})
	}
	data := func(level bool) {
		if level != high {
			high = level
			set(&sda, level, bitCycles/4)
		}
	}
	for _, s := range c.i2c {
		at = max(at, s.at)
		switch s.what {
		case i2cStop:
			data(false)
			set(&scl, true, bitCycles/2)
			high = true
			set(&sda, true, 3*bitCycles/4)
			at += 2 * bitCycles // the bus is free
			continue
		case i2cStart:
			data(false)
			set(&scl, false, bitCycles/2)
			at += bitCycles
		}
		for bit := 7; bit >= -1; bit-- {
			data(bit >= 0 && s.value>>max(bit, 0)&1 == 1 || bit < 0 && !s.acknowledged)
			set(&scl, true, bitCycles/2)
			set(&scl, false, bitCycles)
			at += bitCycles
		}
	}
	return scl, sda
}

func (t Transfer) String() string {
	return fmt.Sprintf("%.3f ms, to 0x%02x: % x, acknowledged: %t", float64(t.At)/Millisecond, t.Address, t.Bytes, t.Acknowledged)
}
