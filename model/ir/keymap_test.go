package ir

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// keymapFiles are the keymaps of the Debian package ir-keytable (v4l-utils
// project).
func keymapFiles(t *testing.T) []string {
	files, err := filepath.Glob("/lib/udev/rc_keymaps/*.toml")
	require.NoError(t, err)
	if len(files) == 0 {
		if os.Getenv("CI") == "true" {
			t.Fatal("no keymaps in /lib/udev/rc_keymaps")
		}
		t.Skip("no keymaps in /lib/udev/rc_keymaps; install the package ir-keytable")
	}
	return files
}

// Every keymap gives codes or says why not, and every code it gives comes back
// from its frame.
func TestKeymaps(t *testing.T) {
	files := keymapFiles(t)
	codes, whole, part, refused := 0, 0, 0, 0
	protocols := map[string]int{}
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		m, err := ParseKeymap(text)
		require.NoError(t, err, file)
		switch {
		case len(m.Keys) == 0:
			require.NotEmpty(t, m.Refused, file)
			refused++
		case len(m.Refused) > 0:
			part++
		default:
			whole++
		}
		names := map[string]bool{}
		for _, k := range m.Keys {
			require.Regexp(t, `^[a-z][a-z0-9-]{0,23}$`, k.Name, file)
			require.False(t, names[k.Name], "%s: %s twice", file, k.Name)
			names[k.Name] = true
			parsed, err := ParseCode(k.Code.String())
			require.NoError(t, err, "%s %s", file, k.Name)
			assert.Equal(t, k.Code, parsed)
			d := Decoder{Raw: k.Code.Protocol == "raw"}
			assert.Equal(t, []Frame{{Code: k.Code}}, feed(&d, Encode(k.Code)), "%s %s", file, k.Name)
			codes++
			protocols[k.Code.Protocol]++
		}
	}
	assert.Equal(t, len(files), whole+part+refused)
	assert.Greater(t, codes, 2000)
	t.Logf("%d keymaps: %d whole, %d in part, %d not at all; %d codes: %v", len(files), whole, part, refused, codes, protocols)
}

// The number of keys agrees with a plain count of the file's lines.
func TestKeymapsAreWhole(t *testing.T) {
	for _, file := range keymapFiles(t) {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		m, err := ParseKeymap(text)
		require.NoError(t, err)
		if len(m.Refused) > 0 {
			continue
		}
		lines := 0
		for line := range strings.Lines(string(text)) {
			if strings.HasPrefix(strings.TrimSpace(line), "0x") {
				lines++
			}
		}
		assert.Equal(t, lines, len(m.Keys), file)
	}
}

func TestParseKeymap(t *testing.T) {
	parse := func(head, scancodes string) (*Keymap, error) {
		return ParseKeymap([]byte("[[protocols]]\nname = \"x\"\n" + head + "\n[protocols.scancodes]\n" + scancodes))
	}
	for _, test := range []struct{ head, scancode, code string }{
		{`protocol = "nec"`, "0x0418", "nec:0x04:0x18"},
		{"protocol = \"nec\"\nvariant = \"necx\"", "0x04fb18", "nec:0x04:0x18"},
		{"protocol = \"nec\"\nvariant = \"necx\"", "0x40404d", "necx:0x4040:0x4d"},
		// The bytes of one half of the frame stand the other way round: "Remote
		// Controller Protocols and Scancodes", section "nec".
		{"protocol = \"nec\"\nvariant = \"nec32\"", "0x3085f009", "nec32:0x8530:0x09f0"},
		{"protocol = \"rc5\"\nvariant = \"rc5\"", "0x1e3d", "rc5:0x1e:0x3d"},
		{"protocol = \"rc6\"\nvariant = \"rc6_0\"", "0x000c", "rc6:0x00:0x0c"},
		{"protocol = \"sony\"\nvariant = \"sony12\"", "0x010015", "sirc12:0x01:0x15"},
		{"protocol = \"sony\"\nvariant = \"sony15\"", "0x970015", "sirc15:0x97:0x15"},
		{"protocol = \"sony\"\nvariant = \"sony20\"", "0x1a4915", "sirc20:0x093a:0x15"},
		{`protocol = "jvc"`, "0x5935", "jvc:0x59:0x35"},
		{"protocol = \"pulse_distance\"\nbits = 32\nheader_pulse = 4500\nheader_space = 4500\nbit_pulse = 560\nbit_0_space = 560\nbit_1_space = 1690",
			"0xe0e040bf", "samsung32:0x0707:0x02"},
	} {
		m, err := parse(test.head, test.scancode+" = \"KEY_POWER\"")
		require.NoError(t, err)
		require.Empty(t, m.Refused, test.head)
		require.Len(t, m.Keys, 1)
		assert.Equal(t, "power", m.Keys[0].Name)
		assert.Equal(t, test.code, m.Keys[0].Code.String(), test.head)
	}
	for _, test := range []struct{ head, scancode, why string }{
		{`protocol = "unknown"`, "0x01", "does not say in which protocol"},
		{"protocol = \"rc6\"\nvariant = \"rc6_mce\"", "0x800f0400", `RC-6 variant "rc6_mce" is not mode 0`},
		{`protocol = "rc-5-sz"`, "0x28c0", `protocol "rc-5-sz" is not known`},
		{`protocol = "rc5"`, "0xeb00", "more bits than rc5 has"},
		{`protocol = "nec"`, "zero", `scancode "zero" is not a number`},
		{`protocol = "pulse_distance"`, "0x01", "without its bits and times"},
	} {
		m, err := parse(test.head, test.scancode+" = \"KEY_POWER\"")
		require.NoError(t, err)
		assert.Empty(t, m.Keys, test.head)
		require.Len(t, m.Refused, 1, test.head)
		assert.Contains(t, m.Refused[0], test.why)
	}
	for _, text := range []string{"", "nonsense", "# table x, type: NEC\n0x01 KEY_POWER\n", "\x00\xff"} {
		_, err := ParseKeymap([]byte(text))
		assert.ErrorContains(t, err, "not a keymap of ir-keytable", "%q", text)
	}
	m, err := parse(`protocol = "nec"`, "0x1 = \"KEY_NUMERIC_0\"\n0x2 = \"KEY_POWER\"\n0x3 = \"KEY_POWER\"\n0x4 = \"KEY_10CHANNELSUP\"\n0x5 = \"KEY_A_VERY_LONG_NAME_THAT_GOES_ON\"\n")
	require.NoError(t, err)
	var names []string
	for _, k := range m.Keys {
		names = append(names, k.Name)
	}
	assert.Equal(t, []string{"numeric-0", "power", "power-2", "key-10channelsup", "a-very-long-name-tha"}, names)
}
