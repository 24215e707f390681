package ir

import (
	"fmt"
	"math/bits"
	"strconv"
	"strings"
	"unicode"
)

// A Code is what one button sends. Codes are equal exactly when their frames
// are, provided they came from ParseCode or a Decoder.
type Code struct {
	Protocol         string
	Address, Command uint32

	// Resent is whether the remote sends the whole frame again while the button is
	// down, where its protocol has a shorter one for that. It is not part of the
	// frame: ParseCode and a Decoder leave it out.
	Resent bool
}

// String writes a code as ParseCode reads it: protocol:address:command, each
// number in hexadecimal with all its digits.
func (c Code) String() string {
	address, command := 8, 8
	if p := find(c.Protocol); p != nil {
		address, command = p.AddressBits, p.CommandBits
	}
	return fmt.Sprintf("%s:%s:%s", c.Protocol, hex(c.Address, address), hex(c.Command, command))
}

func hex(v uint32, bits int) string { return fmt.Sprintf("0x%0*x", (bits+3)/4, v) }

// A CodeError says what is wrong with a written code.
type CodeError struct {
	Wrong  string
	Advice string // the nearest right form
}

func (e *CodeError) Error() string { return e.Wrong + "; " + e.Advice }

// ParseCode reads a code written as protocol:address:command, such as
// "nec:0x04:0x18" or "rc5:0x00:0x35". Numbers are hexadecimal with 0x, in
// either case, with or without leading zeros. A code that another protocol
// writes more simply is refused, so that equal frames have equal codes. The
// error is a *CodeError.
func ParseCode(s string) (Code, error) {
	parts := strings.Split(s, ":")
	p := find(parts[0])
	if len(parts) != 3 {
		return Code{}, &CodeError{fmt.Sprintf("code %q is not of the form protocol:address:command", s), adviseForm(s, p)}
	}
	if p == nil {
		return Code{}, &CodeError{fmt.Sprintf("protocol %q is not known", parts[0]), adviseProtocol(parts)}
	}
	c := Code{Protocol: p.Name}
	var err error
	if c.Address, err = parseNumber("address", parts[1]); err != nil {
		return Code{}, err
	}
	if c.Command, err = parseNumber("command", parts[2]); err != nil {
		return Code{}, err
	}
	if uint64(c.Address) > mask(p.AddressBits) {
		return Code{}, tooWide(c, "address", c.Address, p.AddressBits)
	}
	if uint64(c.Command) > mask(p.CommandBits) {
		return Code{}, tooWide(c, "command", c.Command, p.CommandBits)
	}
	if simpler, _, ok := p.Wave.unpack(p.pack(c, false), p.Bits()); ok && simpler != c {
		return Code{}, &CodeError{
			fmt.Sprintf("%s is the same frame as %s", c, simpler),
			fmt.Sprintf("write %q", simpler),
		}
	}
	return c, nil
}

func parseNumber(what, s string) (uint32, error) {
	digits, ok := strings.CutPrefix(s, "0x")
	if v, err := strconv.ParseUint(digits, 16, 32); ok && err == nil && !strings.Contains(digits, "_") {
		return uint32(v), nil
	}
	advice := `write it in hexadecimal, for example "0x18"`
	if v, err := strconv.ParseUint(s, 10, 32); err == nil {
		advice = fmt.Sprintf("write %q for %s, or %q if that was meant in hexadecimal", hex(uint32(v), 8), s, "0x"+s)
	} else if v, err := strconv.ParseUint(strings.TrimPrefix(strings.ToLower(strings.TrimSpace(s)), "0x"), 16, 32); err == nil {
		advice = fmt.Sprintf("write %q", hex(uint32(v), 8))
	}
	return 0, &CodeError{fmt.Sprintf("%s %q is not a hexadecimal number of at most 32 bits", what, s), advice}
}

// adviseForm says what to write for a code of another form; p is the protocol that it
// begins with, or nil.
func adviseForm(s string, p *Protocol) string {
	words := strings.FieldsFunc(s, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(":,;/-", r) })
	if len(words) == 3 && find(strings.ToLower(words[0])) != nil {
		return fmt.Sprintf("write %q", strings.ToLower(words[0])+":"+words[1]+":"+words[2])
	}
	// Sketches and tables often give the whole frame as a number, its first bit the highest.
	digits := strings.TrimPrefix(strings.ToLower(s), "0x")
	if v, err := strconv.ParseUint(digits, 16, 32); err == nil && len(digits) >= 4 {
		advice := "a number alone does not say in which protocol it is sent: learn the button"
		if c, _, ok := find("nec").Wave.unpack(uint64(bits.Reverse32(uint32(v))), 32); ok && c.Protocol == "nec" {
			advice += fmt.Sprintf(", or try %q", c)
		}
		return advice
	}
	example := Code{Protocol: "nec", Address: 0x04, Command: 0x18}
	if p != nil {
		example.Protocol = p.Name
	}
	return fmt.Sprintf("write for example %q", example)
}

// adviseProtocol gives the nearest code with a known protocol, or lists what
// is known.
func adviseProtocol(parts []string) string {
	if p := find(strings.ToLower(strings.TrimSpace(parts[0]))); p != nil {
		return fmt.Sprintf("write %q", p.Name+":"+parts[1]+":"+parts[2])
	}
	names := make([]string, len(protocols))
	for i := range protocols {
		names[i] = strconv.Quote(protocols[i].Name)
	}
	return "known are " + strings.Join(names, ", ")
}

// tooWide complains of a number with too many bits, and names the protocol of
// the same wave that takes it, if there is one.
func tooWide(c Code, what string, v uint32, bits int) *CodeError {
	e := &CodeError{
		fmt.Sprintf("%s 0x%x is wider than the %d bits of %s", what, v, bits, c.Protocol),
		fmt.Sprintf("write at most %s", hex(uint32(mask(bits)), bits)),
	}
	for _, p := range protocols {
		// A command of more bits would be sent without its inverse: no more the same.
		same := p.Wave == find(c.Protocol).Wave && p.CommandBits == find(c.Protocol).CommandBits
		if same && uint64(c.Address) <= mask(p.AddressBits) && uint64(c.Command) <= mask(p.CommandBits) {
			wide, _, _ := p.Wave.unpack(p.pack(Code{Protocol: p.Name, Address: c.Address, Command: c.Command}, false), p.Bits())
			e.Advice = fmt.Sprintf("write %q", wide)
			break
		}
	}
	return e
}
