package ir

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// A Keymap is what a keymap file of ir-keytable (v4l-utils project) gives.
type Keymap struct {
	Name string
	Keys []Key
	// Refused says, once for each reason, what of the file cannot be taken
	// over.
	Refused []string
}

// A Key is one button of a keymap.
type Key struct {
	Name string // a slug: KEY_VOLUMEUP is "volumeup"
	Code Code
}

// keymapFile is the file's form ("rc_keymap", manual page of v4l-utils).
type keymapFile struct {
	Protocols []keymapProtocol `toml:"protocols"`
}

type keymapProtocol struct {
	Name      string            `toml:"name"`
	Protocol  string            `toml:"protocol"`
	Variant   string            `toml:"variant"`
	Scancodes map[string]string `toml:"scancodes"`

	// of "pulse_distance"
	Bits         int     `toml:"bits"`
	HeaderPulse  float64 `toml:"header_pulse"`
	HeaderSpace  float64 `toml:"header_space"`
	BitPulse     float64 `toml:"bit_pulse"`
	ZeroSpace    float64 `toml:"bit_0_space"`
	OneSpace     float64 `toml:"bit_1_space"`
	TrailerPulse float64 `toml:"trailer_pulse"`
	Reverse      int     `toml:"reverse"`
}

// ParseKeymap reads a keymap file. The error says what is wrong with the
// file; a file whose codes cannot be sent in a protocol known here gives no
// error, but says why in Refused.
func ParseKeymap(text []byte) (*Keymap, error) {
	var f keymapFile
	if err := toml.Unmarshal(text, &f); err != nil {
		return nil, fmt.Errorf("not a keymap of ir-keytable: %w", err)
	}
	if len(f.Protocols) == 0 {
		return nil, fmt.Errorf("not a keymap of ir-keytable: there is no [[protocols]]; older keymaps, which are not TOML, cannot be read")
	}
	m := &Keymap{Name: f.Protocols[0].Name}
	why := map[string][]string{} // reasons and their keys
	var reasons []string
	refuse := func(reason, key string) {
		if why[reason] == nil {
			reasons = append(reasons, reason)
		}
		why[reason] = append(why[reason], key)
	}
	taken := map[string]bool{}
	for _, p := range f.Protocols {
		scancodes := make([]string, 0, len(p.Scancodes))
		for s := range p.Scancodes {
			scancodes = append(scancodes, s)
		}
		slices.SortFunc(scancodes, compareScancodes)
		if len(scancodes) == 0 {
			if _, err := p.code(0); err != nil {
				refuse(err.Error(), "")
			}
		}
		for _, s := range scancodes {
			key := p.Scancodes[s]
			v, err := strconv.ParseUint(s, 0, 64)
			if err != nil {
				refuse(fmt.Sprintf("scancode %q is not a number", s), key)
				continue
			}
			c, err := p.code(v)
			if err != nil {
				refuse(err.Error(), key)
				continue
			}
			m.Keys = append(m.Keys, Key{slug(key, taken), c})
		}
	}
	for _, r := range reasons {
		if n := len(why[r]); n > 1 {
			r = fmt.Sprintf("%s (%d keys)", r, n)
		} else if why[r][0] != "" {
			r = fmt.Sprintf("%s (%s)", r, why[r][0])
		}
		m.Refused = append(m.Refused, r)
	}
	return m, nil
}

// compareScancodes orders by number, so that the order does not depend on how
// a file writes them.
func compareScancodes(a, b string) int {
	x, _ := strconv.ParseUint(a, 0, 64)
	y, _ := strconv.ParseUint(b, 0, 64)
	if x != y {
		if x < y {
			return -1
		}
		return 1
	}
	return strings.Compare(a, b)
}

// slug makes a button's name from a key's, another one where it is taken.
func slug(key string, taken map[string]bool) string {
	name := strings.ToLower(key)
	name = strings.TrimPrefix(strings.TrimPrefix(name, "key_"), "btn_")
	name = strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, name)
	name = strings.Trim(name, "-")
	if name == "" || name[0] >= '0' && name[0] <= '9' {
		name = "key-" + name
	}
	name = strings.Trim(name[:min(len(name), 20)], "-")
	unique := name
	for i := 2; taken[unique]; i++ {
		unique = fmt.Sprintf("%s-%d", name, i)
	}
	taken[unique] = true
	return unique
}

// code is a scancode's code. How Linux writes scancodes: "Remote Controller
// Protocols and Scancodes", Linux kernel documentation.
func (p *keymapProtocol) code(scancode uint64) (Code, error) {
	v := uint32(scancode)
	if scancode > 0xffffffff {
		return Code{}, fmt.Errorf("scancode 0x%x has more than 32 bits", scancode)
	}
	for _, w := range waves {
		if w.keymap != "" && w.keymap == p.Protocol {
			c, err := w.scancode(p.Variant, v)
			if err != nil {
				return Code{}, err
			}
			return canonical(c)
		}
	}
	switch p.Protocol {
	case "pulse_distance":
		return p.modulated(v)
	case "unknown":
		return Code{}, fmt.Errorf("the file does not say in which protocol the codes are sent; learn the remote instead")
	case "other":
		return Code{}, fmt.Errorf("the codes are of a receiver of its own kind (protocol \"other\"); learn the remote if it is infrared")
	}
	return Code{}, fmt.Errorf("protocol %q is not known", p.Protocol)
}

// canonical is the simplest code with the same frame.
func canonical(c Code) (Code, error) {
	p := find(c.Protocol)
	if uint64(c.Address) > mask(p.AddressBits) || uint64(c.Command) > mask(p.CommandBits) {
		return Code{}, fmt.Errorf("scancodes with more bits than %s has", c.Protocol)
	}
	simplest, _, _ := p.Wave.unpack(p.pack(c, false), p.Bits())
	return simplest, nil
}

// modulated makes the frame that the file describes and reads it: as the code
// of a known protocol or else by its fingerprint. The highest bit is sent
// first.
func (p *keymapProtocol) modulated(v uint32) (Code, error) {
	if p.Bits < 1 || p.Bits > 32 || p.BitPulse <= 0 || p.ZeroSpace <= 0 || p.OneSpace <= 0 {
		return Code{}, fmt.Errorf("a pulse_distance protocol without its bits and times")
	}
	var times []float64
	if p.HeaderPulse > 0 {
		times = append(times, p.HeaderPulse, p.HeaderSpace)
	}
	for i := range p.Bits {
		at := p.Bits - 1 - i
		if p.Reverse != 0 {
			at = i
		}
		space := p.ZeroSpace
		if v>>at&1 == 1 {
			space = p.OneSpace
		}
		times = append(times, p.BitPulse, space)
	}
	last := p.TrailerPulse
	if last <= 0 {
		last = p.BitPulse
	}
	d := Decoder{Raw: true}
	d.Feed(false, rawSilence)
	for i, us := range append(round(append(times, last)), rawSilence) {
		if f, ok := d.Feed(i%2 == 0, us); ok {
			return f.Code, nil
		}
	}
	return Code{}, fmt.Errorf("frames too short to tell them from noise")
}
