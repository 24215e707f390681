package bench

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"slices"
)

// VCD writes what happened from one cycle to another (not included) as a value
// change dump (IEEE 1364), its time starting at 0: of the signals "pin0",
// "pin1", … for the recorded pins, "tx" for the UART's output and "scl" and "sda"
// for the I²C bus those that are named, or all. A time unit is a cycle, 62.5 ns:
// the standard knows powers of ten only, yet sigrok takes it and so has a
// sample for every cycle.
func (c *Chip) VCD(w io.Writer, from, to uint64, names ...string) error {
	type signal struct {
		name  string
		high  bool // at first
		edges []Edge
	}
	signals := []signal{{name: "tx", high: true, edges: c.line()}}
	if len(c.i2c) > 0 {
		scl, sda := c.i2cLines()
		signals = append(signals, signal{name: "scl", high: true, edges: scl}, signal{name: "sda", high: true, edges: sda})
	}
	for _, pin := range c.options.Pins {
		signals = append(signals, signal{name: fmt.Sprintf("pin%d", pin), edges: c.edges[pin]})
	}
	if len(names) > 0 {
		signals = slices.DeleteFunc(signals, func(s signal) bool { return !slices.Contains(names, s.name) })
	}
	type change struct {
		Edge
		signal int
	}
	var changes []change
	for i := range signals {
		s := &signals[i]
		if first := since(s.edges, from); first > 0 {
			s.high = s.edges[first-1].High
		}
		for _, e := range between(s.edges, from, to) {
			changes = append(changes, change{e, i})
		}
	}
	slices.SortStableFunc(changes, func(a, b change) int { return cmp.Compare(a.At, b.At) })

	out := bufio.NewWriter(w)
	set := func(high bool, signal int) {
		level := 0
		if high {
			level = 1
		}
		fmt.Fprintf(out, "%d%c\n", level, '!'+signal)
	}
	fmt.Fprint(out, "$timescale 62500 ps $end\n$scope module chip $end\n")
	for i, s := range signals {
		fmt.Fprintf(out, "$var wire 1 %c %s $end\n", '!'+i, s.name)
	}
	fmt.Fprint(out, "$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n")
	for i, s := range signals {
		set(s.high, i)
	}
	fmt.Fprint(out, "$end\n")
	for _, ch := range changes {
		fmt.Fprintf(out, "#%d\n", ch.At-from)
		set(ch.High, ch.signal)
	}
	fmt.Fprintf(out, "#%d\n", to-from)
	return out.Flush()
}

// since counts the edges before a cycle.
func since(edges []Edge, cycle uint64) int {
	n, _ := slices.BinarySearchFunc(edges, cycle, func(e Edge, cycle uint64) int { return cmp.Compare(e.At, cycle) })
	return n
}

// between returns the edges from one cycle to another, that one not included.
func between(edges []Edge, from, to uint64) []Edge {
	return edges[since(edges, from):since(edges, to)]
}

// line returns the UART's output as the chip would drive it: simavr gives bytes
// but leaves the pin alone. A frame has a start bit, eight bits with the
// lowest first, and a stop bit; it begins at the store, or when the frame
// before it has ended.
func (c *Chip) line() []Edge {
	var edges []Edge
	var free uint64
	high := true
	for _, b := range c.uart {
		at := max(b.At, free)
		frame := uint(b.Value)<<1 | 1<<9
		for bit := range 10 {
			if level := frame>>bit&1 == 1; level != high {
				high = level
				edges = append(edges, Edge{at + uint64(bit)*b.BitCycles, high})
			}
		}
		free = at + 10*b.BitCycles
	}
	return edges
}
