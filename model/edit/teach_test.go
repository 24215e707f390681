package edit_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/edit"
	"propwright/model/ir"
)

func nec(name string, command uint32) ir.Named {
	return ir.Named{Name: name, Code: ir.Code{Protocol: "nec", Address: 0x31, Command: command}}
}

func TestTeach(t *testing.T) {
	d, err := model.Read("heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	f := edit.New(d)
	before := string(f.Design().Format())
	n := len(f.Design().Remote.Buttons)
	require.NoError(t, f.Teach(nec("wake", 1), nec("wave", 2)))
	d = f.Design()
	require.Len(t, d.Remote.Buttons, n+1)
	assert.Contains(t, edit.Codes(d), nec("wake", 1))
	assert.Equal(t, nec("wave", 2), edit.Codes(d)[n])
	assert.Len(t, edit.Codes(d, "wake", "wave"), n-1)
	label, ok := f.Undo()
	require.True(t, ok)
	assert.Equal(t, "learn 2 buttons", label)
	assert.Equal(t, before, string(f.Design().Format()), "one step")

	for name, buttons := range map[string][]ir.Named{
		`"wave" (nec:0x31:0x05) sends what "wake" (nec:0x31:0x05) sends`: {nec("wake", 5), nec("wave", 5)},
		`"Two Words"`: {nec("wake", 5), nec("Two Words", 6)},
	} {
		assert.ErrorContains(t, f.Teach(buttons...), name)
		assert.Equal(t, before, string(f.Design().Format()), "all or none")
	}
	require.NoError(t, f.Teach(nec("wake", 5)))
	assert.ErrorContains(t, f.Teach(nec("sleep", 5)), `what "wake" (nec:0x31:0x05) sends`)
}
