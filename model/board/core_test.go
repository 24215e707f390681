package board

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Where Debian's arduino-core-avr and avr-libc put their files.
const (
	coreDir = "/usr/share/arduino/hardware/arduino/avr"
	libcDir = "/usr/lib/avr/include/avr"
)

// readInstalled reads a file of an installed package. In CI it must be there.
func readInstalled(t *testing.T, dir, name, pkg string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, name))
	if os.IsNotExist(err) && os.Getenv("CI") != "true" {
		t.Skipf("%s is not installed", pkg)
	}
	require.NoError(t, err, "install %s (testdata/setup)", pkg)
	return string(text)
}

// The pin numbers are the core's: its variants' tables, read here as text,
// give each number's port, bit and timer.
func TestPinNumbersOfCore(t *testing.T) {
	for name, variant := range map[string]string{"atmega328p": "standard", "atmega2560": "mega", "atmega32u4": "leonardo"} {
		t.Run(name, func(t *testing.T) {
			src := readInstalled(t, coreDir, "variants/"+variant+"/pins_arduino.h", "arduino-core-avr")
			src = dropATmega8(src)
			ports := array(t, src, "digital_pin_to_port_PGM")
			masks := array(t, src, "digital_pin_to_bit_mask_PGM")
			timers := array(t, src, "digital_pin_to_timer_PGM")

			b, ok := ByName(name)
			require.True(t, ok)
			require.GreaterOrEqual(t, len(ports), len(b.Pins))
			seen := map[string]bool{}
			for _, p := range b.Pins {
				assert.Equal(t, ports[p.Number], "P"+string(p.Port), "port of pin %d", p.Number)
				assert.Equal(t, masks[p.Number], fmt.Sprintf("_BV(%d)", p.Bit), "bit of pin %d", p.Number)
				timer := "NOT_ON_TIMER"
				if p.Compare != "" {
					timer = strings.Replace(p.Compare, "OC", "TIMER", 1)
				}
				assert.Equal(t, timers[p.Number], timer, "timer of pin %d", p.Number)
				seen[ports[p.Number]+masks[p.Number]] = true
			}
			for n := len(b.Pins); n < len(ports); n++ {
				assert.True(t, seen[ports[n]+masks[n]] || name == "atmega32u4" && n == 30,
					"number %d is another name of a pin, or the light on the 32U4's PD5", n)
			}
			for role, macro := range map[Role]string{
				SS: "PIN_SPI_SS", MOSI: "PIN_SPI_MOSI", MISO: "PIN_SPI_MISO", SCK: "PIN_SPI_SCK",
				SDA: "PIN_WIRE_SDA", SCL: "PIN_WIRE_SCL", LED: "LED_BUILTIN",
			} {
				p, ok := b.RolePin(role)
				require.True(t, ok, role)
				assert.Equal(t, number(t, src, macro), p.Number, role)
			}
			for i, pin := range b.Analog {
				n := number(t, src, fmt.Sprintf("PIN_A%d", i))
				if n < len(ports) && pin < len(ports) { // a further name of a pin is as good
					assert.Equal(t, ports[n]+masks[n], ports[pin]+masks[pin], "A%d", i)
				} else {
					assert.Equal(t, n, pin, "A%d", i)
				}
			}
			assert.NotContains(t, src, fmt.Sprintf("PIN_A%d ", len(b.Analog)))
		})
	}
}

// The boards' lights are where the boot loaders blink, by their sources; where
// the boot loader is the chip's USB device, the UART's pins are free.
func TestBootLoadersOfCore(t *testing.T) {
	for name, light := range map[string][2]string{ // a boot loader's source, and its line for the light's port and bit
		"atmega328p": {"bootloaders/optiboot/pin_defs.h", `LED_PORT    PORT%c[^#]*#define LED_PIN     PIN.\r?\n#define LED         PIN.%d`},
		"atmega2560": {"bootloaders/stk500v2/stk500boot.c", `PROGLED_PORT\s+PORT%c\s+#define PROGLED_DDR\s+DDR.\s+#define PROGLED_PIN\s+PIN.%d`},
		"atmega32u4": {"bootloaders/caterina/Caterina.h", `L_LED_ON\(\)\s+PORT%c \|= \(1<<%d\)`},
	} {
		src := readInstalled(t, coreDir, light[0], "arduino-core-avr")
		b, ok := ByName(name)
		require.True(t, ok)
		p, ok := b.RolePin(LED)
		require.True(t, ok)
		assert.Regexp(t, fmt.Sprintf(light[1], p.Port, p.Bit), src, name)
		assert.Contains(t, b.Boot(p.Number), "blinks")
		for _, r := range []Role{RXD, TXD} {
			p, _ := b.RolePin(r)
			assert.Equal(t, b.USB, b.Boot(p.Number) == "", "%s, %s", name, r)
		}
	}
}

// Each number's pin-change interrupt, by the core's macros.
func TestPinChangeInterruptsOfCore(t *testing.T) {
	src := readInstalled(t, coreDir, "variants/standard/pins_arduino.h", "arduino-core-avr")
	banks := ladder(t, src, "digitalPinToPCICRbit")
	bits := ladder(t, src, "digitalPinToPCMSKbit")
	b, ok := ByName("atmega328p")
	require.True(t, ok)
	for _, p := range b.Pins {
		assert.Equal(t, fmt.Sprintf("PCINT%d", 8*banks(p.Number)+bits(p.Number)), p.Interrupt, "pin %d", p.Number)
	}
}

// avr-libc describes the port pins of a smaller chip of the same data sheet
// with the same pins, as NAME_PORT and NAME_BIT: an account of the chip that
// owes nothing to the core.
func TestPinFunctionsOfLibc(t *testing.T) {
	src := readInstalled(t, libcDir, "iom88pa.h", "avr-libc")
	at := map[string]string{}
	for _, m := range regexp.MustCompile(`(?m)^#define (\w+)_PORT\s+PORT([BCD])$`).FindAllStringSubmatch(src, -1) {
		at[m[1]] = "P" + m[2] + strconv.Itoa(number(t, src, m[1]+"_BIT"))
	}
	b, ok := ByName("atmega328p")
	require.True(t, ok)
	for _, p := range b.Pins {
		names := []string{p.Interrupt}
		if p.Compare != "" {
			names = append(names, p.Compare)
		}
		for _, r := range p.Roles {
			if r != LED {
				names = append(names, string(r))
			}
		}
		for _, name := range names {
			assert.Equal(t, at[name], fmt.Sprintf("P%c%d", p.Port, p.Bit), "%s, pin %d", name, p.Number)
		}
	}
}

func TestMemoryOfLibc(t *testing.T) {
	for name, header := range map[string]string{"atmega328p": "iom328p.h", "atmega2560": "iom2560.h", "atmega32u4": "iom32u4.h"} {
		src := readInstalled(t, libcDir, header, "avr-libc")
		b, ok := ByName(name)
		require.True(t, ok)
		assert.Equal(t, number(t, src, "FLASHEND")+1, b.FlashBytes, name)
		sram := 0
		if strings.Contains(src, "#define RAMSIZE") {
			sram = number(t, src, "RAMSIZE")
		} else {
			sram = number(t, src, "RAMEND") - number(t, src, "RAMSTART") + 1
		}
		assert.Equal(t, sram, b.SRAMBytes, name)
	}
}

// The core's own definition of a board with this chip, this clock and the
// boot loader's share of the flash.
func TestUsableFlashOfCore(t *testing.T) {
	src := readInstalled(t, coreDir, "boards.txt", "arduino-core-avr")
	for name, keys := range map[string][2]string{
		"atmega328p": {"uno", "uno"}, "atmega2560": {"mega.menu.cpu.atmega2560", "mega"}, "atmega32u4": {"leonardo", "leonardo"},
	} {
		b, ok := ByName(name)
		require.True(t, ok)
		says := func(board, key, value string) {
			assert.Contains(t, src, fmt.Sprintf("\n%s.%s=%s\n", board, key, value))
		}
		says(keys[0], "build.mcu", b.MCU)
		says(keys[1], "build.f_cpu", fmt.Sprintf("%dL", b.ClockHz))
		says(keys[0], "upload.maximum_size", strconv.Itoa(b.UsableFlash()))
		says(keys[0], "upload.protocol", b.Upload.Programmer)
		says(keys[0], "upload.speed", strconv.Itoa(b.Upload.Baud))
		assert.Equal(t, b.Upload.Touch, strings.Contains(src, "\n"+keys[1]+".upload.use_1200bps_touch=true\n"))
		for i, id := range b.Upload.IDs {
			vendor, product, _ := strings.Cut(id, ":")
			assert.Regexp(t, fmt.Sprintf(`(?i)\n%s\.vid\.%d=0x%s\n%[1]s\.pid\.%[2]d=0x%[4]s\n`, keys[1], i, vendor, product), src)
		}
		if name == "atmega328p" || name == "atmega2560" {
			says(keys[1], "upload.maximum_data_size", strconv.Itoa(b.SRAMBytes))
		}
	}
}

// dropATmega8 keeps the #else part of what the source tells the older chip.
func dropATmega8(src string) string {
	return regexp.MustCompile(`(?s)#if defined\(__AVR_ATmega8__\)\n.*?#else\n(.*?)#endif\n`).ReplaceAllString(src, "$1")
}

// array returns the elements of a C array.
func array(t *testing.T, src, name string) []string {
	t.Helper()
	m := regexp.MustCompile(`(?s)` + name + `\[\] = \{(.*?)\};`).FindStringSubmatch(src)
	require.NotNil(t, m, "no array %s", name)
	body := regexp.MustCompile(`(?s)//[^\n]*|/\*.*?\*/|\s`).ReplaceAllString(m[1], "")
	return strings.Split(strings.TrimSuffix(body, ","), ",")
}

// number returns the value of a macro that is one number.
func number(t *testing.T, src, name string) int {
	t.Helper()
	m := regexp.MustCompile(`(?m)^#define ` + name + `\s+\(?(\w+)\)?`).FindStringSubmatch(src)
	require.NotNil(t, m, "no macro %s", name)
	n, err := strconv.ParseInt(m[1], 0, 32)
	require.NoError(t, err, name)
	return int(n)
}

// ladder returns a macro of the shape
// (((p) <= A) ? X : (((p) <= B) ? Y : Z)) as a function; X, Y and Z are a
// number, (p) or ((p) - number).
func ladder(t *testing.T, src, name string) func(p int) int {
	t.Helper()
	value := `(\(p\)|\d+|\(\(p\) - \d+\))`
	m := regexp.MustCompile(`#define ` + name + `\(p\) +\(\(\(p\) <= (\d+)\) \? ` + value +
		` : \(\(\(p\) <= (\d+)\) \? ` + value + ` : ` + value + `\)\)`).FindStringSubmatch(src)
	require.NotNil(t, m, "macro %s is not of the expected shape", name)
	atoi := func(s string) int {
		n, err := strconv.Atoi(s)
		require.NoError(t, err, name)
		return n
	}
	eval := func(expr string, p int) int {
		switch {
		case expr == "(p)":
			return p
		case strings.HasPrefix(expr, "((p) - "):
			return p - atoi(strings.TrimSuffix(strings.TrimPrefix(expr, "((p) - "), ")"))
		}
		return atoi(expr)
	}
	return func(p int) int {
		switch {
		case p <= atoi(m[1]):
			return eval(m[2], p)
		case p <= atoi(m[3]):
			return eval(m[4], p)
		}
		return eval(m[5], p)
	}
}
