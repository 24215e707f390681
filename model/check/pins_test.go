package check_test

import (
	"strings"
	"testing"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A portable board has a single SPI port and a single Serial1.
func TestPortableBoardDrivesOneStrip(t *testing.T) {
	text := strings.Replace(string(designs.HarbourHeron), `"atmega328p"`, `"portable32"`, 1)
	found := func(text string) (messages []string) {
		d, err := model.Read("heron.prop.toml", []byte(text))
		require.NoError(t, err)
		all, err := check.NewStudy(d).Check(check.Rules())
		require.NoError(t, err)
		for _, f := range all {
			if f.Rule == "pin-cannot" {
				messages = append(messages, f.Message)
			}
		}
		return messages
	}
	assert.Empty(t, found(text))
	more := `
[[output]]
name = "reeds"
kind = "pixels"
pin = 50
count = 3
[[output]]
name = "gulls"
kind = "message"
pin = 51
baud = 9600
[[output.message]]
name = "cry"
bytes = "01"
[[output]]
name = "crows"
kind = "message"
pin = 52
baud = 9600
[[output.message]]
name = "caw"
bytes = "02"
`
	assert.Equal(t, []string{
		`the output "reeds" has no pin: the portable32 board can drive 1 output of kind pixels`,
		`the output "crows" has no pin: the portable32 board can drive 1 output of kind message`,
	}, found(text+more))
}

// Channels and the bus's pins are taken once.
func TestExpanderClash(t *testing.T) {
	found := func(board, more string) (messages []string) {
		text := strings.Replace(string(designs.HarbourHeron), `"atmega328p"`, `"`+board+`"`, 1)
		d, err := model.Read("heron.prop.toml", []byte(text+more))
		require.NoError(t, err)
		all, err := check.NewStudy(d).Check(check.Rules())
		require.NoError(t, err)
		for _, f := range all {
			if f.Rule == "pin-clash" || f.Rule == "pin-cannot" {
				messages = append(messages, f.Message)
			}
		}
		return messages
	}
	output := func(name, place string) string {
		return "\n[[output]]\nname = \"" + name + "\"\nkind = \"switch\"\n" + place + "\n"
	}
	const bus, other = "bus = \"i2c:0x40\"\nchannel = ", "bus = \"i2c:0x41\"\nchannel = "
	assert.Empty(t, found("atmega328p", output("a", bus+"3")+output("b", bus+"4")+output("c", other+"3")))
	clashes := found("atmega328p", output("a", bus+"3")+output("b", bus+"3")+output("c", "pin = 18"))
	require.Len(t, clashes, 2)
	assert.Regexp(t, `^the output "b" and the output "a" \(line \d+\) use the same i2c:0x40 channel 3$`, clashes[0])
	assert.Regexp(t, `^the output "c" and SDA of the bus of "a" \(line \d+\) use the same pin 18$`, clashes[1])
	low := found("atmega328p", output("a", bus+"3\nactive = \"low\""))
	require.Len(t, low, 1)
	assert.Contains(t, low[0], `the output "a" cannot be there: a channel of an expander is low from power-up`)
	assert.Contains(t, found("portable32", output("a", bus+"3"))[0], `the output "a" cannot be there: the firmware for the portable32 board drives no expander`)
}
