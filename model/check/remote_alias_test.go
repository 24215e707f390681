package check_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/ir"
	"propwright/model/machine"
)

// findings checks a design with the given codes of the buttons off, one and
// two; one is pressed and, if so asked, held.
func findings(t *testing.T, hold bool, codes ...string) (check.Findings, *machine.Program) {
	text := `format = 1
[prop]
name = "gull"
board = "atmega328p"
rest_within = "1s"
[remote]
pin = 2
stop = "off"
`
	for i, c := range codes {
		text += fmt.Sprintf("[[remote.button]]\nname = %q\ncode = %q\n", []string{"off", "one", "two"}[i], c)
	}
	text += `[[state]]
name = "roost"
kind = "dormant"
[[state]]
name = "watch"
kind = "ambient"
[[transition]]
from = "roost"
on = "press one"
to = "watch"
[[transition]]
from = "any"
on = "press off"
to = "roost"
`
	if hold {
		text += "[[transition]]\nfrom = \"watch\"\non = \"hold one for 500ms\"\nto = \"roost\"\n"
	}
	d, err := model.Read("gull.prop.toml", []byte(text))
	require.NoError(t, err)
	p := machine.Compile(d)
	found, err := check.NewStudy(d).Check(check.Rules())
	require.NoError(t, err)
	return found, p
}

func of(fs check.Findings, rule string) (list check.Findings) {
	for _, f := range fs {
		if f.Rule == rule {
			list = append(list, f)
		}
	}
	return list
}

func TestAliasClash(t *testing.T) {
	nec, err := ir.ParseCode("nec:0x04:0x18")
	require.NoError(t, err)
	fingerprint, _ := ir.Fingerprint(ir.Encode(nec))
	raw := fmt.Sprintf("raw:0x006c:0x%08x", fingerprint)
	for _, test := range []struct {
		codes []string
		lines []int // of the findings
	}{
		{[]string{"nec:0x04:0x18", "nec:0x04:0x19", "nec:0x05:0x18"}, nil},
		{[]string{"nec:0x04:0x18", "samsung32:0x0404:0x18", "jvc:0x04:0x18"}, nil},
		{[]string{"sirc12:0x01:0x15", "sirc15:0x01:0x15", "sirc20:0x0001:0x15"}, nil},
		{[]string{"nec:0x04:0x18", raw, "nec:0x05:0x18"}, []int{14}},
		{[]string{raw, "nec:0x05:0x18", "nec:0x04:0x18"}, []int{17}},
		{[]string{"raw:0x006c:0x12345678", "raw:0x0000:0x12345678", "raw:0x006c:0x12345679"}, []int{14}},
		{[]string{"nec:0x04:0x18", "nec:0x04:0x18", "nec:0x05:0x18"}, nil}, // a code-clash
	} {
		found, _ := findings(t, false, test.codes...)
		var lines []int
		for _, f := range of(found, "alias-clash") {
			lines = append(lines, f.Pos.Line)
			assert.Equal(t, check.Error, f.Severity)
			assert.Contains(t, f.Message, "may be taken for each other")
		}
		assert.Equal(t, test.lines, lines, "%v", test.codes)
	}
}

func TestHoldWithoutRepeat(t *testing.T) {
	for _, test := range []struct {
		code string
		hold bool
		want int
	}{
		{"raw:0x0000:0x12345678", true, 1},
		{"raw:0x006e:0x12345678", true, 0},
		{"raw:0x0000:0x12345678", false, 0},
		{"nec:0x04:0x18", true, 0},
		{"sirc12:0x01:0x15", true, 0},
	} {
		found, p := findings(t, test.hold, "nec:0x04:0x01", test.code)
		list := of(found, "hold-without-repeat")
		require.Len(t, list, test.want, test.code)
		for _, f := range list {
			assert.Equal(t, check.Error, f.Severity)
			assert.Equal(t, "watch", f.State)
			assert.NotEmpty(t, f.Witness)
			require.NoError(t, f.Replay(p))
		}
	}
}

func TestTogglePress(t *testing.T) {
	for _, test := range []struct {
		code string
		want []string
	}{{"rc5:0x05:0x35", []string{"within 398 ms"}}, {"rc6:0x05:0x35", []string{"within 399 ms"}}, {"nec:0x04:0x18", nil}, {"sirc12:0x01:0x15", nil}} {
		found, p := findings(t, false, "nec:0x04:0x01", test.code)
		list := of(found, "toggle-press")
		require.Len(t, list, len(test.want), test.code)
		for i, f := range list {
			assert.Equal(t, check.Note, f.Severity)
			assert.Equal(t, "roost", f.State)
			assert.Contains(t, f.Message, test.want[i])
			require.NoError(t, f.Replay(p))
		}
	}
}

// Every button is compared with the first that has its code.
func TestCodeClash(t *testing.T) {
	found, _ := findings(t, false, "nec:0x04:0x18", "nec:0x04:0x18", "nec:0x04:0x18")
	var got []string
	for _, f := range of(found, "code-clash") {
		got = append(got, f.Message)
	}
	assert.Equal(t, []string{
		`the buttons "one" and "off" (line 11) send the same code nec:0x04:0x18`,
		`the buttons "two" and "off" (line 11) send the same code nec:0x04:0x18`,
	}, got)
}
