package bench

import (
	"fmt"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/avr"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/designs"
	"propwright/model/ir"
)

// The timing argument of gen/sketch, added up on the compiled firmware: the
// interrupt that times the servos is asked for EARLY ticks ahead; whatever can
// delay it must take less.

// A code is a disassembled program.
type code struct {
	at       map[uint64]instruction
	function map[string]uint64 // entry
	length   map[string]uint64
}

type instruction struct {
	op, args string
	next     uint64
	target   uint64 // of a jump, branch or call
}

func disassemble(t testing.TB, elfPath string) code {
	out, err := exec.Command("avr-objdump", "-d", "-j", ".text", elfPath).Output()
	require.NoError(t, err)
	c := code{map[uint64]instruction{}, map[string]uint64{}, map[string]uint64{}}
	head := regexp.MustCompile(`^([0-9a-f]+) <(.*)>:$`)
	line := regexp.MustCompile(`^\s*([0-9a-f]+):\t((?:[0-9a-f]{2} )+)\s*\t(\S+)\s*([^;]*)(?:; (0x[0-9a-f]+))?`)
	name := ""
	for _, l := range strings.Split(string(out), "\n") {
		if m := head.FindStringSubmatch(l); m != nil {
			name = m[2]
			c.function[name], _ = strconv.ParseUint(m[1], 16, 64)
			continue
		}
		m := line.FindStringSubmatch(l)
		if m == nil {
			continue
		}
		at, _ := strconv.ParseUint(m[1], 16, 64)
		size := uint64(len(strings.Fields(m[2])))
		i := instruction{op: m[3], args: strings.TrimSpace(m[4]), next: at + size}
		switch {
		case i.op == "call" || i.op == "jmp":
			i.target, _ = strconv.ParseUint(strings.TrimPrefix(i.args, "0x"), 16, 64)
		case strings.HasPrefix(i.args, "."):
			offset, err := strconv.ParseInt(i.args[1:], 10, 64)
			require.NoError(t, err, l)
			i.target = uint64(int64(i.next) + offset)
		}
		c.at[at] = i
		c.length[name] += size
	}
	return c
}

// cycles an instruction takes on the ATmega328P at the most, by "AVR
// Instruction Set Manual", Atmel-0856.
func (i instruction) cycles() int {
	switch i.op {
	case "push", "pop", "lds", "sts", "ld", "ldd", "st", "std", "adiw", "sbiw", "mul", "rjmp", "ijmp", "sbi", "cbi":
		return 2
	case "jmp", "rcall", "icall", "lpm":
		return 3
	case "call", "ret", "reti":
		return 4
	}
	return 1 // of a branch that is not taken; longest adds the rest
}

// longest is the number of cycles of the longest way from an address to an
// instruction that ends it, that one not counted. Code that goes round has
// none: an error.
func (c code) longest(from uint64, ends func(instruction) bool, seen map[uint64]bool) (int, error) {
	i, ok := c.at[from]
	switch {
	case !ok:
		return 0, fmt.Errorf("no instruction at %#x", from)
	case ends(i):
		return 0, nil
	case seen[from]:
		return 0, fmt.Errorf("a loop at %#x", from)
	}
	seen[from] = true
	defer delete(seen, from)
	n := i.cycles()
	ways := map[uint64]int{i.next: 0}
	switch {
	case i.op == "rjmp" || i.op == "jmp":
		ways = map[uint64]int{i.target: 0}
	case i.op == "rcall" || i.op == "call":
		callee, err := c.longest(i.target, func(i instruction) bool { return i.op == "ret" }, map[uint64]bool{})
		if err != nil {
			return 0, err
		}
		n += callee + 4
	case strings.HasPrefix(i.op, "br"):
		ways[i.target] = 1
	case strings.HasPrefix(i.op, "sbr") || i.op == "sbis" || i.op == "sbic" || i.op == "cpse":
		skipped := c.at[i.next].next
		ways[skipped] = int(skipped-i.next) / 2
	}
	most := -1
	var failed error
	for to, extra := range ways {
		m, err := c.longest(to, ends, seen)
		if err != nil {
			failed = err
			continue
		}
		most = max(most, m+extra)
	}
	if failed != nil {
		return 0, failed
	}
	return n + most, nil
}

func ends(ops ...string) func(instruction) bool {
	return func(i instruction) bool {
		for _, op := range ops {
			if i.op+" "+i.args == op || i.op == op {
				return true
			}
		}
		return false
	}
}

const entry = 7 // cycles from an interrupt's flag to its handler: 4 and a jmp of 3

// latency adds up what can delay the servos' interrupt.
type latency struct{ core, bus, remote, masked, own int }

func (l latency) worst() int {
	// The core's handler has just begun, or the bus's; then a stretch of masked code; then
	// the remote's handler, which goes first; then masked code once more.
	return entry + max(l.core, l.bus) + l.masked + entry + l.remote + l.masked + entry + l.own
}

func addUp(t testing.TB, elfPath string, remote string) latency {
	c := disassemble(t, elfPath)
	way := func(from uint64, e func(instruction) bool) int {
		n, err := c.longest(from, e, map[uint64]bool{})
		require.NoError(t, err)
		return n
	}
	l := latency{
		core:   way(c.function["__vector_16"], ends("reti")) + 4,
		remote: way(c.function[remote], ends("reti")) + 4,
	}
	// To the first look at the counter's low byte, address 0x84, or the call
	// of the function that looks.
	l.own = way(c.function["__vector_11"], func(i instruction) bool {
		wait, ok := c.function["_ZL10wait_untilj"]
		return i.op == "lds" && strings.HasSuffix(i.args, "0x0084") || ok && i.op == "call" && i.target == wait
	}) + 12
	const bus = "__vector_24"
	if at, ok := c.function[bus]; ok {
		l.bus = way(at, ends("reti")) + 4
	}
	// What works out the servos of a loop that is held up lets interrupts in first of all.
	if at, ok := c.function["__vector_12"]; ok {
		require.Equal(t, "sei", c.at[at].op)
		l.masked = entry + 1 + c.at[c.at[at].next].cycles()
	}
	for name, at := range c.function {
		switch name {
		case "__vector_11", "__vector_16", bus, remote, "board_show", "board_begin", "board_seed", "stop_watchdog", "init", "setup", "_exit":
			continue // handlers, and what runs when no pulse is due or before the first
		}
		for a := at; a < at+c.length[name]; a = c.at[a].next {
			if c.at[a].op != "cli" {
				continue
			}
			// Until the flags are restored, or sei and the instruction after it.
			n := way(c.at[a].next, ends("sei", "reti", "sleep", "out 0x3f, r0", "out 0x3f, r18", "out 0x3f, r19", "out 0x3f, r20",
				"out 0x3f, r21", "out 0x3f, r22", "out 0x3f, r23", "out 0x3f, r24", "out 0x3f, r25", "ret"))
			l.masked = max(l.masked, n+3)
		}
	}
	return l
}

func heron(t testing.TB) *model.Design {
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	return d
}

func TestServoInterruptIsEarlyEnough(t *testing.T) {
	const early = 60 * 8 // cycles; EARLY in board.cpp
	for _, d := range []struct {
		name, remote string
		elf          string
	}{
		{"harbour heron", "__vector_5", compileDesign(t, heron(t))},
		{"sixteen servos", "__vector_4", compileDesign(t, busy(t, "atmega328p", crowded, 144, "nec:0x04:0x18"))},
		{"eight servos", "__vector_4", compileDesign(t, busy(t, "atmega328p", wirings["atmega328p"], 144, "nec:0x04:0x18"))},
	} {
		l := addUp(t, d.elf, d.remote)
		t.Logf("%s: core's handler %d cycles, the bus's %d, remote's %d, masked code %d, own way to the wait %d; at worst %d of %d",
			d.name, l.core, l.bus, l.remote, l.masked, l.own, l.worst(), early)
		assert.Less(t, l.worst(), early)
		assert.Greater(t, l.core, 50)
		assert.Greater(t, l.remote, 50)
		assert.Greater(t, l.own, 50)
		assert.Greater(t, l.masked, 5)
	}
}

// ramEnd is where a chip's SRAM ends, and its stack begins: RAMEND in avr-libc's header
// of the chip.
var ramEnd = map[string]int{"atmega328p": 0x8FF, "atmega2560": 0x21FF, "atmega32u4": 0xAFF}

// The stack on the chip never takes more than what is worked out of the machine code. The
// loop and the interrupts rarely come together at their deepest, so it takes less. The
// loop stalls now and then, so that the servos are worked out by an interrupt too.
func TestStackIsAsTheBuildSays(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	for chip, w := range wirings {
		b, ok := board.ByName(chip)
		require.True(t, ok)
		elf := compileHooks(t, busy(t, chip, w, 24, "nec:0x04:0x18"), stalling)
		most, err := avr.Stack(elf, b)
		if chip == "atmega32u4" { // its USB port has functions that are called through pointers
			require.ErrorIs(t, err, avr.ErrUnbounded)
		} else {
			require.NoError(t, err)
		}
		c := Start(t, elf, Options{MCU: chip, Step: 1})
		c.SetPin(w.receiver, High, 0)
		code, err := ir.ParseCode("nec:0x04:0x18")
		require.NoError(t, err)
		for i := range uint64(10) {
			c.RunTo(c.PlayIR(w.receiver, ir.Encode(code), (100+400*i)*Millisecond))
		}
		taken := ramEnd[chip] - int(c.LowestStack())
		t.Logf("%s: at most %d bytes, %d seen", chip, most, taken)
		assert.LessOrEqual(t, taken, most)
		assert.Greater(t, taken, most*2/5)
	}
}
