package avr

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/board"
)

// nested is a sketch whose longest chain of calls is loop, outer, inner, with frames of
// local variables larger and smaller than what one instruction makes room for, a switch
// with a jump table, and two interrupts.
const nested = `#include <Arduino.h>
volatile uint8_t sink;
static uint8_t __attribute__((noinline)) inner(uint8_t n)
{
    volatile uint8_t room[40];
    room[n] = n;
    return room[0];
}
static uint8_t __attribute__((noinline)) outer(uint8_t n)
{
    volatile uint8_t room[300];
    room[n] = inner(n);
    switch (n) {
    case 0: return inner(room[1]);
    case 1: return 3;
    case 2: sink = 4; break;
    case 3: return inner(9);
    case 4: sink = 2; break;
    case 5: return 17;
    case 6: sink = 12; break;
    }
    return room[n] + inner(n);
}
ISR(INT0_vect) { sink = inner(sink); }
ISR(INT1_vect) { sink++; }
void setup() {}
void loop() { sink = outer(sink); }
`

// usages are what gcc's -fstack-usage has said of the functions compiled into a folder,
// a return address included.
func usages(t *testing.T, dir string) map[string]int {
	bytes := map[string]int{}
	files, err := filepath.Glob(filepath.Join(dir, "*.su"))
	require.NoError(t, err)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		for _, m := range regexp.MustCompile(`(?m):(?:\S+ )?(\w+)(?:\(.*\))?\t(\d+)\tstatic$`).FindAllStringSubmatch(string(text), -1) {
			bytes[m[1]], err = strconv.Atoi(m[2])
			require.NoError(t, err)
		}
	}
	return bytes
}

// The stack is what gcc says of each function, added up along the longest chain.
func TestStack(t *testing.T) {
	tools := find(t)
	tools.Flags = []string{"-fstack-usage"}
	for mcu, returnAddress := range map[string]int{"atmega328p": 2, "atmega2560": 3} {
		b, _ := board.ByName(mcu)
		dir := t.TempDir()
		elf, err := tools.Build(t.Context(), write(t, map[string]string{"a.ino": nested}), dir, mcu)
		require.NoError(t, err)
		u := usages(t, dir)
		require.Contains(t, u, "outer")
		require.Greater(t, u["outer"], 300)
		interrupt := u["__vector_1"] + u["inner"]
		require.Greater(t, interrupt, u["__vector_2"])
		stack, err := Stack(elf, b)
		require.NoError(t, err)
		assert.Equal(t, returnAddress+u["loop"]+u["outer"]+u["inner"]+interrupt, stack, "%s: %v", mcu, u)
	}
}

// An interrupt handler that lets others in comes on top of them.
func TestStackOfInterruptsInInterrupts(t *testing.T) {
	tools := find(t)
	stack := func(attributes string) int {
		elf, err := tools.Build(t.Context(), write(t, map[string]string{
			"a.ino": "#include <Arduino.h>\nvolatile uint8_t sink;\nISR(INT0_vect" + attributes + ") { sink++; }\nISR(INT1_vect) { sink += 2; }\nvoid setup() {}\nvoid loop() {}\n",
		}), t.TempDir(), "atmega328p")
		require.NoError(t, err)
		b, _ := board.ByName("atmega328p")
		bytes, err := Stack(elf, b)
		require.NoError(t, err)
		return bytes
	}
	// One pushes r0, r1, SREG and r24; the core's, which counts milliseconds, pushes
	// more and is the one on top.
	assert.Equal(t, 2+4, stack(", ISR_NOBLOCK")-stack(""))
}

func TestStackWithoutALimit(t *testing.T) {
	tools := find(t)
	b, _ := board.ByName("atmega328p")
	for _, test := range []struct{ name, text, why string }{
		{"recursion", "volatile uint8_t sink;\nvoid __attribute__((noinline)) down(uint8_t n) { if (n) { down(n - 1); sink = n; } }\nvoid setup() {}\nvoid loop() { down(sink); }\n", "calls itself"},
		{"pointer", "void (*volatile to)(void);\nvoid setup() {}\nvoid loop() { to(); to(); }\n", "loop calls a function through a pointer"},
	} {
		t.Run(test.name, func(t *testing.T) {
			elf, err := tools.Build(t.Context(), write(t, map[string]string{"a.ino": test.text}), t.TempDir(), "atmega328p")
			require.NoError(t, err)
			bytes, err := Stack(elf, b)
			require.ErrorIs(t, err, ErrUnbounded)
			assert.ErrorContains(t, err, test.why)
			assert.Positive(t, bytes)
		})
	}
}
