package ir

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A disturbance changes a frame on its way.
type disturbance struct {
	name   string
	change func(r *rand.Rand, frame []int, unit float64, other []int) []int
}

// jitter moves every edge by up to a part of the unit, at most 150 µs.
func jitter(part float64) disturbance {
	return disturbance{fmt.Sprintf("%.0f%%", 100*part), func(r *rand.Rand, frame []int, unit float64, _ []int) []int {
		most := int(min(part*unit, 150))
		edges := edgesOf(frame)
		for i := range edges {
			edges[i] += r.IntN(2*most+1) - most
		}
		return timesOf(edges)
	}}
}

var disturbances = []disturbance{
	jitter(0), jitter(0.05), jitter(0.10), jitter(0.15), jitter(0.20), jitter(0.25),
	{"glitch", func(r *rand.Rand, frame []int, _ float64, _ []int) []int {
		// A pulse of 5 to 100 µs, or a gap as short, anywhere in the frame.
		i := r.IntN(len(frame))
		width := 5 + r.IntN(96)
		at := r.IntN(max(frame[i]-width, 1))
		split := []int{at, width, max(frame[i]-width-at, 1)}
		return append(append(append([]int(nil), frame[:i]...), split...), frame[i+1:]...)
	}},
	{"cut", func(r *rand.Rand, frame []int, _ float64, _ []int) []int {
		cut := r.IntN(len(frame)-1) + 1 // the beginning or the end is missing
		if r.IntN(2) == 0 {
			return frame[:cut]
		}
		return frame[cut+cut%2:]
	}},
	{"overlap", func(r *rand.Rand, frame []int, _ float64, other []int) []int {
		// Another remote of the same kind begins while this one sends: the
		// receiver sees a mark where either has one.
		a, b := edgesOf(frame), edgesOf(other)
		later := r.IntN(a[len(a)-1])
		for i := range b {
			b[i] += later
		}
		return timesOf(either(a, b))
	}},
}

// edgesOf gives the times of a frame's edges, from its first mark's beginning.
func edgesOf(frame []int) []int {
	edges := []int{0}
	for _, us := range frame {
		edges = append(edges, edges[len(edges)-1]+us)
	}
	return edges
}

func timesOf(edges []int) []int {
	var times []int
	for i := range edges[1:] {
		times = append(times, max(edges[i+1]-edges[i], 1))
	}
	return times
}

// either gives the edges of what is a mark in a or b.
func either(a, b []int) []int {
	var edges []int
	inA, inB := false, false
	for len(a) > 0 || len(b) > 0 {
		before := inA || inB
		at := 0
		if len(b) == 0 || len(a) > 0 && a[0] <= b[0] {
			at, a, inA = a[0], a[1:], !inA
		} else {
			at, b, inB = b[0], b[1:], !inB
		}
		if (inA || inB) != before {
			edges = append(edges, at)
		}
	}
	return edges
}

var noiseFrames = flag.Int("frames", 2000, "how many frames of each protocol TestNoise sends for each disturbance")

// Disturbed frames of each protocol for each disturbance: how many are decoded,
// and how many are taken for a code that nobody sent. For a protocol with a check
// that is none. A frame of the nec wave with a wrong bit is a frame of nec32,
// which has no check; a design without that code never hears it.
func TestNoise(t *testing.T) {
	frames := *noiseFrames
	if testing.Short() {
		frames = 500
	}
	type tally struct{ right, wrong, foreign int }
	table := make([][]tally, len(protocols))
	falsely := map[string]int{} // by the protocol of the code that nobody sent
	var mutex sync.Mutex
	var group sync.WaitGroup
	for i := range protocols {
		p := &protocols[i]
		table[i] = make([]tally, len(disturbances))
		group.Go(func() {
			random := rand.New(rand.NewPCG(1, uint64(i)))
			for j, disturb := range disturbances {
				for range frames {
					c, other := drawCode(random, p), drawCode(random, p)
					frame := disturb.change(random, EncodePress(c, random.IntN(2) == 1), p.Wave.Unit, EncodePress(other, random.IntN(2) == 1))
					d := Decoder{Raw: p.Wave.Family == Unknown}
					heard := false
					for _, f := range feed(&d, frame) {
						switch {
						case f.Code == c || disturb.name == "overlap" && f.Code == other:
							heard = true
						case f.Code.Protocol == "raw": // nobody's fingerprint
						case f.Code.Protocol == p.Name:
							table[i][j].wrong++
						default:
							table[i][j].foreign++
						}
						if f.Code != c && f.Code != other && f.Code.Protocol != "raw" {
							mutex.Lock()
							falsely[f.Code.Protocol]++
							mutex.Unlock()
						}
					}
					if heard {
						table[i][j].right++
					}
				}
			}
		})
	}
	group.Wait()

	var b strings.Builder
	fmt.Fprintf(&b, "decoded of %d frames, in %%; +n: taken for n other codes of the protocol, ~n: of another protocol\n%-10s", frames, "")
	for _, d := range disturbances {
		fmt.Fprintf(&b, "%16s", d.name)
	}
	for i := range protocols {
		fmt.Fprintf(&b, "\n%-10s", protocols[i].Name)
		for _, n := range table[i] {
			cell := fmt.Sprintf("%.1f", 100*float64(n.right)/float64(frames))
			if n.wrong > 0 {
				cell += fmt.Sprintf(" +%d", n.wrong)
			}
			if n.foreign > 0 {
				cell += fmt.Sprintf(" ~%d", n.foreign)
			}
			fmt.Fprintf(&b, "%16s", cell)
		}
	}
	fmt.Fprintf(&b, "\ncodes that nobody sent: %v", falsely)
	t.Log(b.String())

	for i := range protocols {
		p := &protocols[i]
		if p.HasCheck() {
			assert.Zero(t, falsely[p.Name], "%s has a check", p.Name)
		}
		for j, d := range disturbances[:6] {
			if p.Wave.Family == Unknown && j > 2 {
				break // each time is judged by the one before: ±10 % of both is all
			}
			assert.GreaterOrEqual(t, table[i][j].right, frames*99/100, "%s, %s", p.Name, d.name)
		}
	}
}

// drawCode draws a code as ParseCode would return it.
func drawCode(r *rand.Rand, p *Protocol) Code {
	for {
		c := Code{Protocol: p.Name, Address: r.Uint32() & uint32(mask(p.AddressBits)), Command: r.Uint32() & uint32(mask(p.CommandBits))}
		if p.Wave.Family == Unknown {
			c.Address = 0
		}
		if simplest, _, _ := p.Wave.unpack(p.pack(c, false), p.Bits()); simplest == c {
			return c
		}
	}
}

// either: by hand.
func TestEither(t *testing.T) {
	require.Equal(t, []int{0, 30, 40, 50}, either([]int{0, 10, 20, 30}, []int{5, 25, 40, 50}))
	require.Equal(t, []int{0, 10, 20, 30}, either([]int{0, 10}, []int{20, 30}))
}
