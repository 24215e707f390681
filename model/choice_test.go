package model_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
)

// choosing is a design of which one transition has the target.
func choosing(t *testing.T, target string) *model.Design {
	t.Helper()
	text, err := os.ReadFile("../testdata/faulty/sound.prop.toml")
	require.NoError(t, err)
	d, err := model.Read("f", []byte(strings.Replace(string(text), `to = "back"`, "to = "+target, 1)))
	require.NoError(t, err)
	return d
}

func TestChoicesAreWrittenAsTheyAreRead(t *testing.T) {
	d := choosing(t, "{ in_turn = [ # the evening\n  \"watch\", # first\n  \"roost\", \"watch\"] } # last")
	to := d.Transitions[1].To
	assert.Equal(t, "in turn watch, roost, watch", to)
	c, ok := model.ParseChoice(to)
	require.True(t, ok)
	assert.Equal(t, model.Choice{InTurn: true, States: []string{"watch", "roost", "watch"}}, c)
	assert.Equal(t, []string{"watch", "roost"}, model.Targets(to))
	text := string(d.Format())
	assert.Contains(t, text, "to = { in_turn = [\"watch\", \"roost\", \"watch\"] } # last\n")
	assert.Contains(t, text, "# the evening\n")
	assert.Contains(t, text, "# first\n")
}

// A state that is renamed or goes is followed in choices.
func TestChoicesFollowTheirStates(t *testing.T) {
	state := func(d *model.Design, name string) model.Elem {
		e, ok := d.Find(model.SortState, name)
		require.True(t, ok)
		return e
	}
	d := choosing(t, `{ any_of = ["watch", "roost", "greet"] }`)
	n, err := d.Renamed(state(d, "watch"), "look-out")
	require.NoError(t, err)
	assert.Equal(t, "any of look-out, roost, greet", n.Transitions[1].To)
	assert.Equal(t, "any of watch, roost, greet", d.Transitions[1].To)

	n, takes := d.Without(state(d, "watch"))
	assert.Contains(t, strings.Join(takes, "\n"), "no longer leads to it")
	to := func(d *model.Design) string {
		i := len(d.Transitions)
		for j := range d.Transitions {
			if len(d.Transitions[j].On) > 0 && d.Transitions[j].On[0].Kind == model.Done {
				i = j
			}
		}
		return d.Transitions[i].To
	}
	assert.Equal(t, "any of roost, greet", to(n))

	d = choosing(t, `{ in_turn = ["watch", "roost", "watch"] }`)
	n, _ = d.Without(state(d, "watch"))
	assert.Equal(t, "roost", to(n), "of two one is left")
}

func TestNewChoice(t *testing.T) {
	c, err := model.NewChoice(false, "watch, roost ,greet,")
	require.NoError(t, err)
	assert.Equal(t, "any of watch, roost, greet", c.String())
	for names, wrong := range map[string]string{
		"watch": "at least two", "": "at least two", "watch, watch": "duplicated", "watch, back": "back cannot be",
	} {
		_, err := model.NewChoice(false, names)
		assert.ErrorContains(t, err, wrong, names)
	}
	_, err = model.NewChoice(true, "watch, watch")
	assert.ErrorContains(t, err, "at least two")
}
