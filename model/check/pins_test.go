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
