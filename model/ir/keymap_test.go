package ir

import (
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every plain and extended code of the NEC keymaps in the Debian package
// ir-keytable (v4l-utils project) comes back from its frame. Linux writes
// scancodes ("Remote Controller Protocols and Scancodes", Linux kernel
// documentation, section "nec") as 0xAACC for plain NEC and 0xaaaaCC for
// extended; longer ones are NEC with 32 free bits, which is another protocol.
func TestKeymaps(t *testing.T) {
	files, err := filepath.Glob("/lib/udev/rc_keymaps/*.toml")
	require.NoError(t, err)
	if len(files) == 0 {
		if os.Getenv("CI") == "true" {
			t.Fatal("no keymaps in /lib/udev/rc_keymaps")
		}
		t.Skip("no keymaps in /lib/udev/rc_keymaps; install the package ir-keytable")
	}
	codes := 0
	for _, file := range files {
		for _, m := range readKeymap(t, file) {
			if m.Protocol != "nec" {
				continue
			}
			for scancode, key := range m.Scancodes {
				v, err := strconv.ParseUint(scancode, 0, 32)
				require.NoError(t, err, "%s %s", file, key)
				if v > 0xffffff {
					continue
				}
				c := Code{"nec", uint32(v >> 8), uint32(v & 0xff)}
				high, low := c.Address>>8, c.Address&0xff
				switch {
				case high == ^low&0xff:
					c.Address = high // an extended scancode of a plain frame
				case v > 0xffff || m.Variant == "necx":
					c.Protocol = "necx"
				}
				parsed, err := ParseCode(c.String())
				require.NoError(t, err, "%s %s", file, key)
				assert.Equal(t, c, parsed)
				var d Decoder
				assert.Equal(t, []Frame{{Code: c}}, feed(&d, Encode(c)), "%s %s", file, key)
				codes++
			}
		}
	}
	assert.Greater(t, codes, 1500)
	t.Logf("%d codes", codes)
}

type keymap struct {
	Protocol  string            `toml:"protocol"`
	Variant   string            `toml:"variant"`
	Scancodes map[string]string `toml:"scancodes"`
}

func readKeymap(t *testing.T, file string) []keymap {
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	var f struct {
		Protocols []keymap `toml:"protocols"`
	}
	require.NoError(t, toml.Unmarshal(text, &f), file)
	return f.Protocols
}
