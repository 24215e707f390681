package bench

import (
	"bufio"
	"encoding/binary"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/motion"
)

// rig is a design of eight servos with limits of all kinds.
func rig(t *testing.T) *model.Design {
	var outputs, cues strings.Builder
	for i, limits := range []string{
		"max_speed = \"120deg/s\"\nmax_accel = \"600deg/s2\"",
		"max_speed = \"300deg/s\"\nmax_accel = \"4000deg/s2\"",
		"max_speed = \"60deg/s\"\nmax_accel = \"90deg/s2\"",
		"max_speed = \"600deg/s\"\nmax_accel = \"1500deg/s2\"",
		"max_speed = \"200deg/s\"",
		"max_accel = \"900deg/s2\"",
		"max_speed = \"1deg/s\"\nmax_accel = \"2deg/s2\"",
		"",
	} {
		widths := "us_at_min = 600\nus_at_max = 2400"
		if i%2 == 1 {
			widths = "us_at_min = 1850\nus_at_max = 1100"
		}
		fmt.Fprintf(&outputs, "[[output]]\nname = \"s%d\"\nkind = \"servo\"\npin = %d\nmin = \"-45deg\"\nmax = \"45deg\"\nrest = \"0deg\"\n%s\n%s\n",
			i, 3+i, widths, limits)
		fmt.Fprintf(&cues, "[[routine.cue]]\nat = \"0s\"\noutput = \"s%d\"\nto = \"10deg\"\nease = %q\n", i, model.Eases[i%len(model.Eases)])
	}
	d, err := model.Read("rig.prop.toml", []byte(`format = 1
[prop]
name = "rig"
label = "Rig"
board = "atmega328p"
[remote]
pin = 2
stop = "halt"
[[remote.button]]
name = "halt"
code = "nec:0x04:0x08"
`+outputs.String()+`[[routine]]
name = "all"
`+cues.String()+`[[state]]
name = "rest"
kind = "dormant"
[[state]]
name = "act"
kind = "performing"
plays = "all"
[[transition]]
from = "rest"
on = "press halt"
to = "act"
[[transition]]
from = "act"
on = "done"
to = "rest"
`))
	require.NoError(t, err)
	return d
}

// An order is one for testdata/motion.c.
type order struct {
	Kind, Servo, What, Passes uint8
	Value                     uint32
}

const (
	orderMove = iota
	orderTime
	orderStall
	orderOverwrite
)

// worked ends what testdata/motion.c says of an order.
const worked = 0xFFFF

var manyMoves = flag.Int("moves", 50_000, "how many moves TestServosKeepTheirLimitsWhateverHappens draws")

// A player is the firmware's player, compiled for this computer.
type player struct {
	t       *testing.T
	limits  []motion.Limits
	program string
}

func newPlayer(t *testing.T, d *model.Design) *player {
	if _, err := exec.LookPath("gcc"); err != nil {
		missing(t, err)
	}
	dir := writeSketch(t, d)
	p := &player{t: t, program: filepath.Join(t.TempDir(), "motion")}
	out, err := exec.Command("gcc", "-std=gnu11", "-O2", "-Wall", "-Wextra", "-Werror", "-fsanitize=undefined", "-fno-sanitize-recover",
		"-I", dir, "-o", p.program, filepath.Join("testdata", "motion.c"), filepath.Join(dir, "tables.c")).CombinedOutput()
	require.NoError(t, err, "%s", out)
	for i := range d.Outputs {
		p.limits = append(p.limits, motion.LimitsOf(&d.Outputs[i]))
	}
	return p
}

// play gives a player that has just started orders, and each of them to a function
// with the pulse widths of the frames that are sent meanwhile, servo by servo.
func (p *player) play(orders []order, each func(o order, frames [][]uint16)) {
	c := exec.Command(p.program)
	c.Stderr = os.Stderr
	in, err := c.StdinPipe()
	require.NoError(p.t, err)
	pipe, err := c.StdoutPipe()
	require.NoError(p.t, err)
	require.NoError(p.t, c.Start())
	written := make(chan error, 1)
	go func() { // the player works while what it sends is looked at
		err := binary.Write(in, binary.LittleEndian, orders)
		in.Close()
		written <- err
	}()
	out := bufio.NewReaderSize(pipe, 1<<16)
	width := func() uint16 {
		var b [2]byte
		_, err := io.ReadFull(out, b[:])
		require.NoError(p.t, err)
		return binary.LittleEndian.Uint16(b[:])
	}
	for _, o := range orders {
		var frames [][]uint16
		for w := width(); w != worked; w = width() {
			widths := []uint16{w}
			for range p.limits[1:] {
				widths = append(widths, width())
			}
			frames = append(frames, widths)
		}
		each(o, frames)
	}
	require.NoError(p.t, <-written)
	require.NoError(p.t, c.Wait())
}

// draw draws a move, at any angle in the servo's travel.
func (p *player) draw(r *rand.Rand) order {
	servo := r.IntN(len(p.limits))
	l := p.limits[servo]
	o := order{Kind: orderMove, Servo: uint8(servo), What: uint8(r.IntN(4))}
	o.Value = uint32(l.Lowest) + uint32(r.IntN(int(l.Highest-l.Lowest)+1))
	if r.IntN(3) > 0 {
		o.Value |= uint32(r.IntN(60)) << 16
	}
	return o
}

var drawnEases = []model.Ease{model.EaseLinear, model.EaseSmooth, model.EaseIn, model.EaseOut}

// excess keeps the largest speed and acceleration of a servo, as shares of its
// limits, and by how many half microseconds its pulse widths go beyond them.
type excess struct {
	speed, accel           float64
	speedTicks, accelTicks float64
	widths                 [3]float64
}

// next takes the width that is sent, and what the generator knows of it.
func (e *excess) next(l motion.Limits, width uint16, speed, before int32) {
	abs := func(x int32) float64 { return float64(max(x, -x)) }
	e.speed = max(e.speed, abs(speed)/float64(l.Fastest))
	e.accel = max(e.accel, abs(speed-before)/float64(l.Accel))
	e.widths = [3]float64{e.widths[1], e.widths[2], float64(width)}
	v, a := e.widths[2]-e.widths[1], e.widths[2]-2*e.widths[1]+e.widths[0]
	e.speedTicks = max(e.speedTicks, max(v, -v)-float64(l.Fastest)/32)
	e.accelTicks = max(e.accelTicks, max(a, -a)-float64(l.Accel)/32)
}

// Moves that interrupt each other, at any time, with the loop stalled for up to
// 900 ms between them: every frame that is sent is model/motion's, and no servo goes
// beyond its limits.
func TestServosKeepTheirLimitsWhateverHappens(t *testing.T) {
	d := rig(t)
	p := newPlayer(t, d)
	motors := make([]motion.Generator, len(p.limits))
	most := make([]excess, len(p.limits))
	for i := range motors {
		width := motion.Pulse(&d.Outputs[i], 0)
		motors[i] = motion.NewGenerator(p.limits[i], width)
		w := float64(width)
		most[i].widths = [3]float64{w, w, w}
	}
	r := rand.New(rand.NewPCG(1, 2))
	var orders []order
	stalls := 0
	for range *manyMoves {
		o := order{Kind: orderTime, Value: uint32(r.IntN(120))}
		if r.IntN(20) == 0 {
			o = order{Kind: orderStall, Value: uint32(r.IntN(901)), Passes: uint8(20 + r.IntN(230))}
			stalls++
		}
		orders = append(orders, p.draw(r), o)
	}
	sent := 0
	p.play(orders, func(o order, frames [][]uint16) {
		if o.Kind == orderMove {
			require.Empty(t, frames)
			motors[o.Servo].Move(uint16(o.Value), int(o.Value>>16), drawnEases[o.What])
		}
		for _, widths := range frames {
			sent++
			for i, w := range widths {
				before := motors[i].Speed()
				motors[i].Tick()
				motors[i].Step()
				if w != motors[i].Width() {
					t.Fatalf("frame %d, servo %d: the firmware sends %d, model/motion %d", sent, i, w, motors[i].Width())
				}
				most[i].next(p.limits[i], w, motors[i].Speed(), before)
			}
		}
	})
	t.Logf("%d events, %d stalls, %d frames sent", *manyMoves, stalls, sent)
	for i, m := range most {
		t.Logf("s%d: speed %.4f, acceleration %.4f of the limit; as sent %+.2f and %+.2f half µs", i, m.speed, m.accel, m.speedTicks, m.accelTicks)
		assert.LessOrEqual(t, m.speed, 1.0)
		assert.LessOrEqual(t, m.accel, 1.0)
		assert.LessOrEqual(t, m.speedTicks, 1.0, "a width is rounded to half a microsecond, by at most half of it")
		assert.LessOrEqual(t, m.accelTicks, 2.0, "three widths are rounded")
	}
}

// What has been overwritten with anything sends no servo out of its travel, and
// none stays lost: it goes where it is sent next, within its limits.
func TestServosKeepTheirTravelWhateverIsOverwritten(t *testing.T) {
	rounds := *manyMoves / 50
	p := newPlayer(t, rig(t))
	r := rand.New(rand.NewPCG(3, 4))
	garbage := func() uint32 {
		switch r.IntN(4) {
		case 0:
			return r.Uint32() & 0xFF
		case 1:
			return []uint32{0, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF}[r.IntN(4)]
		default:
			return r.Uint32()
		}
	}
	var orders []order
	for range rounds {
		orders = append(orders, p.draw(r), order{Kind: orderTime, Value: uint32(r.IntN(200))},
			order{Kind: orderOverwrite, Servo: uint8(r.IntN(len(p.limits))), What: uint8(r.IntN(10)), Value: garbage()},
			order{Kind: orderTime, Value: uint32(r.IntN(200))})
	}
	for i, l := range p.limits { // the slowest takes 91 s
		orders = append(orders, order{Kind: orderMove, Servo: uint8(i), Value: uint32(l.Lowest + 100)}, order{Kind: orderTime, Value: 100_000})
	}
	frames, n := 0, 0
	p.play(orders, func(o order, sent [][]uint16) {
		frames += len(sent)
		for _, widths := range sent {
			for i, w := range widths {
				if l := p.limits[i]; w < l.Lowest || w > l.Highest {
					t.Fatalf("servo %d is sent to %d, outside %d..%d", i, w, l.Lowest, l.Highest)
				}
			}
		}
		n++
		if n <= 4*rounds || o.Kind != orderTime {
			return
		}
		i := (n-4*rounds)/2 - 1
		l := p.limits[i]
		assert.Equal(t, l.Lowest+100, sent[len(sent)-1][i], "servo %d", i)
		for k := 2; k < len(sent); k++ {
			v := float64(sent[k][i]) - float64(sent[k-1][i])
			require.LessOrEqual(t, max(v, -v), float64(l.Fastest)/32+1)
		}
	})
	t.Logf("%d overwritten, %d frames sent", rounds, frames)
}
