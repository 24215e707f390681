package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A call that is not complete, or has too much in it, says what to write.
func TestWrongCalls(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"chart"}, "propwright: chart needs FILE; for example: propwright chart heron.prop.toml -o heron.svg\n"},
		{[]string{"chart", "a", "b"}, "propwright: chart takes FILE only, \"b\" is too much; for example: propwright chart heron.prop.toml -o heron.svg\n"},
		{[]string{"diff", "a"}, "propwright: diff needs NEW; for example: propwright diff HEAD:heron.prop.toml heron.prop.toml\n"},
		{[]string{"add", "routine", "--on", "press six"}, "propwright: add routine needs FILE and NAME; for example: propwright add routine heron.prop.toml bow --on \"press six\" --code nec:0x04:0x16\n"},
		{[]string{"card", "--pretty"}, "propwright: unknown flag: --pretty; propwright card --help lists what there is\n"},
		{[]string{"card", "x", "-o"}, "propwright: flag needs an argument: 'o' in -o; propwright card --help lists what there is\n"},
	} {
		code, out, errs := call(c.args...)
		assert.Equal(t, exitCall, code, c.args)
		assert.Empty(t, out, c.args)
		assert.Equal(t, c.want, errs, c.args)
	}
}
