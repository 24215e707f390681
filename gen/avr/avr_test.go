package avr

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func find(t *testing.T) *Toolchain {
	tools, err := Find()
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	return tools
}

func write(t *testing.T, files map[string]string) string {
	dir := filepath.Join(t.TempDir(), "blink")
	require.NoError(t, os.Mkdir(dir, 0o755))
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	return dir
}

// A sketch of every kind of source file links for every chip, and its size
// is what avr-size counts.
func TestBuild(t *testing.T) {
	tools := find(t)
	tools.Flags = []string{"-Wall", "-Wextra", "-Werror"}
	sketch := write(t, map[string]string{
		"blink.ino":  "#include \"count.h\"\nvoid setup() { pinMode(3, OUTPUT); }\nvoid loop() { digitalWrite(3, count() & 1); }\n",
		"count.h":    "#ifdef __cplusplus\nextern \"C\"\n#endif\nint count(void);\n",
		"count.c":    "#include \"count.h\"\nint step(void);\nstatic int start = 5, n;\nint count(void) { if (!n) n = start; return n += step(); }\n",
		"step.S":     ".global step\nstep: ldi r24, 1\n ldi r25, 0\n ret\n",
		"unused.cpp": "#include <Arduino.h>\nint unused() { return analogRead(0); }\n",
		"notes.txt":  "not a source file",
	})
	for _, mcu := range []string{"atmega328p", "atmega2560", "atmega32u4"} {
		elf, err := tools.Build(t.Context(), sketch, t.TempDir(), mcu)
		require.NoError(t, err, mcu)
		flash, sram, err := Size(elf)
		require.NoError(t, err)
		out, err := exec.Command("avr-size", "-A", elf).Output()
		require.NoError(t, err)
		section := func(name string) int {
			m := regexp.MustCompile(`(?m)^\.` + name + `\s+(\d+)`).FindSubmatch(out)
			if m == nil {
				return 0
			}
			n, err := strconv.Atoi(string(m[1]))
			require.NoError(t, err)
			return n
		}
		assert.Equal(t, section("text")+section("data"), flash, mcu)
		assert.Equal(t, section("data")+section("bss")+section("noinit"), sram, mcu)
		assert.Positive(t, sram)
	}
}

// smallCore makes a core library of one source file, which takes no time to
// compile.
func smallCore(t *testing.T) (dir string) {
	dir = t.TempDir()
	for name, text := range map[string]string{
		"cores/arduino/Arduino.h":          "#include \"pins_arduino.h\"\nvoid setup();\nvoid loop();\n",
		"cores/arduino/main.cpp":           "#include <Arduino.h>\nint main() { setup(); for (;;) loop(); }\n",
		"variants/standard/pins_arduino.h": "",
	} {
		file := filepath.Join(dir, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
		require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
	}
	return dir
}

// A core archive that was emptied, cut or changed is made again, and where
// there is no cache folder a build does without.
func TestDamagedCache(t *testing.T) {
	if testing.Short() {
		t.Skip("it compiles much")
	}
	tools := find(t)
	tools.core = smallCore(t)
	home := t.TempDir()
	t.Setenv("XDG_CACHE_HOME", home)
	sketch := write(t, map[string]string{"a.ino": "void setup() {}\nvoid loop() {}\n"})
	build := func() {
		elf, err := tools.Build(t.Context(), sketch, t.TempDir(), "atmega328p")
		require.NoError(t, err)
		flash, _, err := Size(elf)
		require.NoError(t, err)
		require.Positive(t, flash)
	}
	kept := func() string {
		files, err := filepath.Glob(filepath.Join(home, "propwright", "*"))
		require.NoError(t, err)
		require.Len(t, files, 1)
		return files[0]
	}
	build()
	whole, err := os.ReadFile(kept())
	require.NoError(t, err)
	for _, damaged := range [][]byte{nil, whole[:len(whole)/2], append([]byte("x"), whole[1:]...)} {
		require.NoError(t, os.WriteFile(kept(), damaged, 0o600))
		build()
		again, err := os.ReadFile(kept())
		require.NoError(t, err)
		require.Len(t, again, len(whole))
	}
	require.NoError(t, os.RemoveAll(home))
	require.NoError(t, os.WriteFile(home, nil, 0o600)) // no folder can be made there
	build()
	t.Setenv("XDG_CACHE_HOME", "")
	t.Setenv("HOME", "")
	build()
}

func TestBuildErrors(t *testing.T) {
	tools := find(t)
	for _, test := range []struct {
		name, mcu string
		files     map[string]string
		want      string
	}{
		{"chip", "z80", nil, `no core for chip "z80"; use atmega328p`},
		{"empty", "atmega328p", nil, "holds no sketch"},
		{"wrong", "atmega328p", map[string]string{"a.ino": "void setup() {}\nvoid loop() { oops(); }\n"}, "a.ino:2:"},
		{"unlinked", "atmega328p", map[string]string{"a.ino": "void setup() {}\n"}, "undefined reference to `loop'"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := tools.Build(t.Context(), write(t, test.files), t.TempDir(), test.mcu)
			assert.ErrorContains(t, err, test.want)
		})
	}
}

func TestFindSaysWhatIsMissing(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	_, err := Find()
	assert.ErrorContains(t, err, "avr-gcc, avr-g++, avr-gcc-ar")
	assert.ErrorContains(t, err, "install the packages gcc-avr, avr-libc and arduino-core-avr")
}

func TestSizeOfOtherFiles(t *testing.T) {
	_, _, err := Size(filepath.Join(t.TempDir(), "none.elf"))
	assert.ErrorContains(t, err, "none.elf")
	self, err := os.Executable()
	require.NoError(t, err)
	_, _, err = Size(self)
	assert.Error(t, err)
}
