//go:build linux

package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"propwright/cmd/propwright/pty"
	"propwright/gen/avr"
	"propwright/gen/bench"
	"propwright/model/designs"
	"propwright/model/ir"
)

// needsUploader ends a test where there is no avrdude.
func needsUploader(t *testing.T) {
	if _, err := avr.FindUploader(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
}

// The demo is uploaded by avrdude through a pseudo-terminal into a simulated
// chip that runs the boot loader of arduino-core-avr, and then answers its remote.
func TestFlash(t *testing.T) {
	if testing.Short() {
		t.Skip("the boot loader is slow")
	}
	needsUploader(t)
	dir := t.TempDir()
	file := filepath.Join(dir, "heron.prop.toml")
	require.NoError(t, os.WriteFile(file, designs.HarbourHeron, 0o666))
	const neck, receiver = 9, 2
	chip := flashed(t, []int{neck}, file, "-o", filepath.Join(dir, "out"))

	// The boot loader leaves by its watchdog, and the prop starts.
	chip.SetPin(receiver, bench.High, chip.Now())
	const byWatchdog = 8 // WDRF
	chip.Reset(byWatchdog, chip.Now()+bench.Millisecond)
	start := chip.Now() + 2*bench.Millisecond
	chip.RunTo(start + 1000*bench.Millisecond)
	before := chip.Edges(neck)
	assert.InDelta(t, 50, len(before)/2, 10, "the servo's pulses, 50 a second")
	wake, err := ir.ParseCode("nec:0x04:0x18")
	require.NoError(t, err)
	three, err := ir.ParseCode("nec:0x04:0x13")
	require.NoError(t, err)
	end := chip.PlayIR(receiver, ir.EncodePress(wake, false), chip.Now())
	chip.RunTo(end + 500*bench.Millisecond)
	end = chip.PlayIR(receiver, ir.EncodePress(three, false), chip.Now())
	chip.RunTo(end + 2000*bench.Millisecond)
	widths := map[uint64]bool{}
	after := chip.Edges(neck)[len(before):]
	for i := 1; i < len(after); i++ {
		if !after[i].High {
			widths[(after[i].At-after[i-1].At)/bench.Microsecond] = true
		}
	}
	assert.Greater(t, len(widths), 10, "the neck moves")
}

// So is the sketch that learn needs, which then tells what the receiver hears.
func TestFlashCapture(t *testing.T) {
	if testing.Short() {
		t.Skip("the boot loader is slow")
	}
	needsUploader(t)
	file := filepath.Join(t.TempDir(), "heron.prop.toml")
	require.NoError(t, os.WriteFile(file, designs.HarbourHeron, 0o666))
	const receiver = 2
	chip := flashed(t, nil, file, "--capture")
	assert.NoDirExists(t, "out")

	chip.SetPin(receiver, bench.High, chip.Now())
	chip.Reset(8, chip.Now()+bench.Millisecond)
	chip.RunTo(chip.Now() + 500*bench.Millisecond)
	before := len(chip.UART())
	wake, err := ir.ParseCode("nec:0x04:0x18")
	require.NoError(t, err)
	end := chip.PlayIR(receiver, ir.EncodePress(wake, false), chip.Now())
	chip.RunTo(end + 1000*bench.Millisecond)
	var said []byte
	for _, b := range chip.UART()[before:] {
		said = append(said, b.Value)
	}
	assert.Contains(t, string(said), "nec:0x04:0x18")
}

// And the sketch that trim needs, which answers with the prop's name.
func TestFlashTrim(t *testing.T) {
	if testing.Short() {
		t.Skip("the boot loader is slow")
	}
	needsUploader(t)
	file := filepath.Join(t.TempDir(), "heron.prop.toml")
	require.NoError(t, os.WriteFile(file, designs.HarbourHeron, 0o666))
	chip := flashed(t, nil, file, "--trim")
	before := len(chip.UART())
	chip.Reset(8, chip.Now()+bench.Millisecond)
	chip.RunTo(chip.Now() + 500*bench.Millisecond)
	var said []byte
	for _, b := range chip.UART()[before:] {
		said = append(said, b.Value)
	}
	// The reset may cut off that it said so before, of which a millisecond holds twelve bytes at most.
	assert.Regexp(t, `(?s)^.{0,12}trim harbour-heron\r\n$`, string(said))
}

// flashed is a chip into which flash has uploaded, with the edges of pins recorded.
func flashed(t *testing.T, pins []int, args ...string) *bench.Chip {
	master, slave := pty.Open(t)
	line := int(master.Fd())
	require.NoError(t, unix.SetNonblock(line, true))
	other, err := os.OpenFile(slave, os.O_RDWR|unix.O_NOCTTY, 0) // or the line is hung up between two users
	require.NoError(t, err)
	defer other.Close()
	chip := bench.Start(t, withBootLoader(t), bench.Options{Pins: pins})

	var code int
	var out, errs string
	done := make(chan bool)
	go func() {
		defer close(done)
		code, out, errs = call(append([]string{"flash", "--port", slave}, args...)...)
	}()
	serve(t, chip, line, unanswered, done)
	require.Equal(t, exitFine, code, out+errs)
	assert.Contains(t, out, "stay clear", "before it moves")
	assert.Contains(t, out, "uploaded to the atmega328p on "+slave+", and read back")
	assert.Contains(t, errs, "bytes of flash verified")
	return chip
}

// withBootLoader makes a program of arduino-core-avr's boot loader at its place; where
// a chip without a sketch begins, it goes there after a reset from outside, and waits
// after any other. It is compiled from the package's source
// as its Makefile does, but without flashes of the light: with them, as in the hex file
// that the package ships, it has 532 bytes, 20 more than there is room for.
func withBootLoader(t *testing.T) (elf string) {
	dir := t.TempDir()
	file := func(ending string) string { return filepath.Join(dir, "boot."+ending) }
	const source = avr.CoreDir + "/bootloaders/optiboot"
	for _, args := range [][]string{
		{"avr-gcc", "-Os", "-fno-inline-small-functions", "-fno-split-wide-types", "-mrelax", "-mmcu=atmega328p", "-DF_CPU=16000000L",
			"-DBAUD_RATE=115200", "-w", "-Wl,--section-start=.text=0x7e00", "-Wl,--section-start=.version=0x7ffe", "-Wl,--relax",
			"-nostartfiles", "-nostdlib", "-o", file("o"), source + "/optiboot.c"},
		{"avr-objcopy", "-j", ".text", "-j", ".version", "-O", "ihex", file("o"), file("hex")},
	} {
		said, err := exec.Command(args[0], args[1:]...).CombinedOutput()
		require.NoError(t, err, "%s", said)
	}
	text, err := os.ReadFile(file("hex"))
	require.NoError(t, err)
	// in r16, MCUSR; sbrs r16, EXTRF; rjmp .; jmp 0x7e00
	const begin = ":0A00000004B701FFFFCF0C94003F8E\n"
	require.NoError(t, os.WriteFile(file("hex"), append([]byte(begin), text...), 0o666))
	for _, args := range [][]string{
		{"-I", "ihex", "-O", "binary", "--gap-fill", "0xff", file("hex"), file("bin")},
		{"-I", "binary", "-O", "elf32-avr", "--rename-section", ".data=.text", file("bin"), file("elf")}, // simavr reads .text
	} {
		said, err := exec.Command("avr-objcopy", args...).CombinedOutput()
		require.NoError(t, err, "%s", said)
	}
	return file("elf")
}

// unanswered are the bytes that avrdude sends first: two requests whose answers it throws
// away (stk500_getsync in its stk500.c). On a busy computer they would come so late that
// it took them for answers to what it asks next.
const unanswered = 4

// serve joins a chip's UART to a line until done. Of what comes after a silence so many
// bytes are lost, and the next one resets the chip, as opening the port resets a board.
func serve(t *testing.T, chip *bench.Chip, line, lost int, done <-chan bool) {
	const byteTime = 10 * bench.Hz / 115200
	sent, asked := 0, 0
	var heard time.Time
	buffer := make([]byte, 4096)
	for {
		n, err := unix.Read(line, buffer)
		if err != nil && !errors.Is(err, unix.EAGAIN) {
			require.NoError(t, err)
		}
		at := chip.Now() + byteTime
		if n > 0 {
			if time.Since(heard) > 5*time.Second {
				asked = 0
			}
			heard = time.Now()
		}
		for _, b := range buffer[:max(n, 0)] {
			if asked++; asked <= lost {
				continue
			}
			if asked == lost+1 {
				const fromOutside = 2 // EXTRF
				chip.Reset(fromOutside, at)
				at += 5 * bench.Millisecond
			}
			chip.Send(b, at)
			at += byteTime
		}
		chip.RunTo(at + bench.Millisecond)
		for _, b := range chip.UART()[sent:] {
			_, err := unix.Write(line, []byte{b.Value})
			require.NoError(t, err)
			sent++
		}
		select {
		case <-done:
			return
		default:
			if n <= 0 {
				time.Sleep(time.Millisecond)
			}
		}
	}
}

// What is missing is said before anything is written.
func TestFlashSaysWhatIsMissing(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	write := func(text string) {
		require.NoError(t, os.WriteFile("heron.prop.toml", []byte(text), 0o666))
	}
	write(string(designs.HarbourHeron))
	t.Run("no tools", func(t *testing.T) {
		t.Setenv("PATH", t.TempDir())
		code, _, errs := call("flash", "heron.prop.toml", "--port", "/dev/null")
		assert.Equal(t, exitCall, code)
		assert.Contains(t, errs, "nothing was built or uploaded")
		assert.Contains(t, errs, "install the packages gcc-avr, avr-libc and arduino-core-avr")
		assert.Contains(t, errs, "avrdude not found; install the package avrdude")
	})
	write(strings.Replace(string(designs.HarbourHeron), `board = "atmega328p"`, `board = "portable32"`, 1))
	code, _, errs := call("flash", "heron.prop.toml")
	assert.Equal(t, exitCall, code)
	assert.Contains(t, errs, "upload it with your board's usual IDE")
	assert.NoDirExists(t, "out")
	needsUploader(t)
	write(string(designs.HarbourHeron))
	code, out, errs := call("flash", "heron.prop.toml", "--port", "no-such-port")
	assert.Equal(t, exitCall, code)
	assert.Empty(t, out, "nothing is reset")
	assert.Contains(t, errs, "the port no-such-port cannot be opened")
	assert.NoDirExists(t, "out")
	_, slave := pty.Open(t)
	write(strings.Replace(string(designs.HarbourHeron), `stop = "sleep"`, `stop = "wake"`, 1))
	code, out, errs = call("flash", "heron.prop.toml", "--port", slave)
	assert.Equal(t, exitDesign, code)
	assert.Empty(t, out, "nothing is reset")
	assert.Contains(t, errs, "error no-stop")
	assert.NoDirExists(t, "out")
}
