//go:build linux

package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"propwright/cmd/propwright/pty"
	"propwright/gen"
	"propwright/gen/bench"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/designs"
)

// A simulated chip runs the trim sketch, its serial line is a pseudo-terminal: the ends go
// into the design, the servo goes there and not further, and slowly.
func TestTrim(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "heron.prop.toml")
	require.NoError(t, os.WriteFile(file, designs.HarbourHeron, 0o666))
	d, err := model.Load(file)
	require.NoError(t, err)
	beak := d.Output("beak")
	files, err := sketch.Trim(d)
	require.NoError(t, err)
	folder := filepath.Join(dir, sketch.TrimFolder)
	_, err = gen.Write(folder, files)
	require.NoError(t, err)

	master, slave := pty.Open(t)
	line := int(master.Fd())
	require.NoError(t, unix.SetNonblock(line, true))
	other, err := os.OpenFile(slave, os.O_RDWR|unix.O_NOCTTY, 0) // or the line is hung up when the command ends
	require.NoError(t, err)
	defer other.Close()
	chip := bench.Start(t, bench.Compile(t, folder, d.Prop.Board), bench.Options{Pins: []int{beak.Pin}})
	root := rootCommand()
	root.SetArgs([]string{"trim", file, "beak", "--port", slave})
	root.SetIn(strings.NewReader("+\n\n\n-\nmax 44deg\n\n+\n+\nmin\n1212\nmin 50deg\nmin -3deg\nrest\nundo\nwho\nquit\n"))
	var out bytes.Buffer
	root.SetOut(&out)
	done := make(chan bool)
	go func() {
		defer close(done)
		err = root.Execute()
	}()
	serve(t, chip, line, 0, done)
	require.NoError(t, err, out.String())
	for _, said := range []string{
		"beak 1200us, 0deg> ",
		"beak us_at_max = 1220, was 1600\n  beak max = 44deg, was 35deg\n",
		"1230us is past the end, which is confirmed at 1220us",
		"the other end is at 1220us, too",
		"max 44deg is not above min 50deg",
		"beak us_at_min = 1212, was 1200\n  beak min = -3deg, was 0deg\n",
		"beak rest = -3deg, was 0deg\n",
		"beak rest = 0deg again\n",
		`there is no servo and no spinner "who"; there are: neck, beak`,
	} {
		assert.Contains(t, out.String(), said)
	}
	d, err = model.Load(file)
	require.NoError(t, err)
	now := d.Output("beak")
	assert.Equal(t, []any{1212, 1220, model.Degrees(-3), model.Degrees(44), model.Degrees(0)}, []any{now.UsAtMin, now.UsAtMax, now.Min, now.Max, now.Rest})

	// The pulses follow, 4 us a frame, and end when the line has been silent.
	chip.RunTo(chip.Now() + 3000*bench.Millisecond)
	edges := chip.Edges(beak.Pin)
	assert.Greater(t, chip.Now()-edges[len(edges)-1].At, uint64(900*bench.Millisecond))
	const rounding = 1 // us: half a tick, and the core's digitalWrite
	var widest, last float64
	for i := 1; i < len(edges); i++ {
		if edges[i].High {
			continue
		}
		us := float64(edges[i].At-edges[i-1].At) / bench.Microsecond
		if last > 0 {
			assert.InDelta(t, last, us, 4+rounding)
		} else {
			assert.InDelta(t, 1200, us, 8)
		}
		widest, last = max(widest, us), us
	}
	assert.InDelta(t, 1230, widest, 8)
	assert.InDelta(t, 1212, last, 8)
}

// A servo on an expander is moved as slowly; where the expander does not answer, that
// is told, and nothing has moved when it does.
func TestTrimOnAnExpander(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	const address, channel = 0x40, 3
	d, err := model.Read("heron.prop.toml", bytes.Replace(designs.HarbourHeron, []byte("pin = 10\n"), []byte("bus = \"i2c:0x40\"\nchannel = 3\n"), 1))
	require.NoError(t, err)
	require.NotZero(t, d.Output("beak").Bus)
	files, err := sketch.Trim(d)
	require.NoError(t, err)
	folder := filepath.Join(t.TempDir(), sketch.TrimFolder)
	_, err = gen.Write(folder, files)
	require.NoError(t, err)
	chip := bench.Start(t, bench.Compile(t, folder, d.Prop.Board), bench.Options{Step: 1600})
	after := func(line string, ms uint64) (said string) {
		for i, b := range []byte(line) {
			chip.Send(b, chip.Now()+uint64(i+1)*2*bench.Millisecond)
		}
		from := len(chip.UART())
		chip.RunTo(chip.Now() + ms*bench.Millisecond)
		for _, b := range chip.UART()[from:] {
			said += string(rune(b.Value))
		}
		return said
	}
	sent := func() (off []int) {
		for _, x := range chip.Transfers() {
			if x.Acknowledged && x.Bytes[0] == 8+4*channel {
				off = append(off, int(x.Bytes[1])|int(x.Bytes[2])<<8)
			}
		}
		return off
	}
	chip.SetDevice(address, bench.Absent, 0)
	assert.Contains(t, after("?\n", 100), "trim harbour-heron\r\n")
	assert.Equal(t, "lost 1\r\n", after("1 1500 1501\n", 200))
	assert.Empty(t, sent())
	chip.SetDevice(address, bench.Answers, chip.Now())
	assert.Equal(t, "at 1 1500\r\n", after("1 1500 1501\n", 200))
	assert.Equal(t, "at 1 1540\r\n", after("1 1540 1541\n", 400))
	off := sent()
	assert.Equal(t, []int{307, 316}, []int{off[0], off[len(off)-1]}, "1500 and 1540 us in steps of 4.88")
	for i := 1; i < len(off); i++ {
		assert.LessOrEqual(t, off[i]-off[i-1], 1, "a step of 4 us")
	}
	assert.Empty(t, after("", 2200))
	off = sent()
	assert.Equal(t, 0x1000, off[len(off)-1], "it is free")
}
