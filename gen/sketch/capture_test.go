package sketch_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen"
	"propwright/gen/avr"
	"propwright/gen/sketch"
	"propwright/model/board"
	"propwright/model/ir"
)

func writeCapture(t testing.TB, boardName string, pin int) (dir string) {
	files, err := sketch.Capture(boardName, pin)
	require.NoError(t, err)
	dir = filepath.Join(t.TempDir(), sketch.CaptureFolder)
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
	return dir
}

func TestCaptureCompilesForEveryBoard(t *testing.T) {
	if testing.Short() {
		t.Skip("it compiles much")
	}
	need(t, "avr-gcc")
	tc, err := avr.Find()
	require.NoError(t, err)
	tc.Flags = []string{"-Wall", "-Wextra", "-Werror"}
	for _, name := range board.Names() {
		b, _ := board.ByName(name)
		if b.Portable {
			_, err := sketch.Capture(name, 2)
			assert.ErrorContains(t, err, "learn the remote with any 8-bit board")
			continue
		}
		for _, p := range b.Pins {
			if b.Cannot(p.Number, board.UseReceiver) == "" {
				_, err := tc.Build(context.Background(), writeCapture(t, name, p.Number), t.TempDir(), name)
				require.NoError(t, err, "%s, pin %d", name, p.Number)
				break
			}
		}
	}
}

func TestCaptureIsCleanC99(t *testing.T) {
	need(t, "gcc")
	need(t, "cppcheck")
	dir := writeCapture(t, "atmega328p", 2)
	out, err := exec.Command("gcc", "-std=c99", "-pedantic", "-Wall", "-Wextra", "-Wconversion", "-Wshadow",
		"-Werror", "-fsyntax-only", filepath.Join(dir, "decode.c")).CombinedOutput()
	require.NoError(t, err, string(out))
	out, err = exec.Command("cppcheck", "--quiet", "--error-exitcode=1", "--std=c99",
		"--enable=warning,style,performance,portability", dir).CombinedOutput()
	require.NoError(t, err, string(out))
}

func TestCaptureErrors(t *testing.T) {
	_, err := sketch.Capture("abacus", 2)
	assert.ErrorContains(t, err, `there is no board "abacus"; choose one of`)
	_, err = sketch.Capture("atmega328p", 99)
	assert.ErrorContains(t, err, "99")
}

const captor = `#include <stdio.h>
#include "decode.h"
int main(void)
{
    long edge;
    long now = 0;
    long last = 0;
    bool high = true;
    char code[DECODED_MOST];
    while (scanf("%ld", &edge) == 1) {
        if (edge - last > 250000) {
            for (int i = 0; i < 30; i++) {
                ir_tick();
            }
            unsigned n = decoded(code);
            printf("%s %u\n", code, n);
            now = edge / 1000;
        }
        for (; now < edge / 1000; now++) {
            ir_tick();
        }
        last = edge;
        high = !high;
        ir_edge((uint16_t)(2 * edge), high);
    }
    return 0;
}
`

// Every code of the keymaps of ir-keytable that the sketch can know, and some
// of every protocol, with a repeat: what the capture sketch says is the code.
func TestCaptureDecodes(t *testing.T) {
	need(t, "gcc")
	var codes []ir.Code
	for _, p := range ir.Protocols() {
		if p.Wave.Family != ir.Unknown {
			codes = append(codes, codesOf(p, 20)...)
		}
	}
	files, err := filepath.Glob("/lib/udev/rc_keymaps/*.toml")
	require.NoError(t, err)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		m, err := ir.ParseKeymap(text)
		require.NoError(t, err)
		for _, k := range m.Keys {
			if k.Code.Protocol != "raw" {
				codes = append(codes, k.Code)
			}
		}
	}
	dir := writeCapture(t, "atmega328p", 2)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "captor.c"), []byte(captor), 0o644))
	program := filepath.Join(dir, "captor")
	out, err := exec.Command("gcc", "-std=c99", "-fsanitize=undefined", "-fno-sanitize-recover", "-o", program,
		filepath.Join(dir, "captor.c"), filepath.Join(dir, "decode.c")).CombinedOutput()
	require.NoError(t, err, string(out))

	a := &air{now: 300_000}
	want := []string{" 0"}
	for i, c := range codes {
		start := a.now
		a.send(ir.EncodePress(c, i%2 == 0))
		a.now = start + int(c.RepeatPeriod().Microseconds())
		a.send(ir.EncodeHeld(c, i%2 == 0))
		a.wait(300_000)
		want = append(want, fmt.Sprintf("%s 2", c))
	}
	a.send([]int{500})
	var in bytes.Buffer
	for _, at := range a.edges {
		fmt.Fprintln(&in, at)
	}
	cmd := exec.Command(program)
	cmd.Stdin = &in
	cmd.Stderr = os.Stderr
	said, err := cmd.Output()
	require.NoError(t, err)
	require.Equal(t, want, strings.Split(strings.TrimRight(string(said), "\n"), "\n"))
	t.Logf("%d codes", len(codes))
}
