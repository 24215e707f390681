package check_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/machine"
)

// A prop that goes to sleep by itself some day is not one that can be
// stopped: with its only transition on the stop button gone, the heron is
// deaf to it wherever it is awake.
func TestRestingByItselfIsNoStop(t *testing.T) {
	text := strings.Replace(string(designs.HarbourHeron),
		"[[transition]]\nfrom = \"any\"\non = \"press sleep\"\nto = \"roost\"\n", "", 1)
	require.NotEqual(t, string(designs.HarbourHeron), text)
	d, err := model.Read("heron.prop.toml", []byte(text))
	require.NoError(t, err)
	found, err := check.NewStudy(d).Check(check.Rules())
	require.NoError(t, err)
	p := machine.Compile(d)
	deaf := map[string]bool{}
	for i := range found {
		if found[i].Rule == "no-stop" {
			deaf[found[i].State] = true
			assert.Contains(t, found[i].Message, "does nothing in state")
			assert.NoError(t, found[i].Replay(p))
		}
	}
	for _, s := range d.States {
		assert.Equal(t, s.Kind != model.Dormant, deaf[s.Name], s.Name)
	}
}
