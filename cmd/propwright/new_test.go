package main

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/designs"
)

// Every example can be begun from under another name, has no finding, and has a
// card, a chart and a walk.
func TestExamples(t *testing.T) {
	t.Chdir(t.TempDir())
	help := shows(t, exitFine, "new", "--help")
	for name, text := range designs.Examples() {
		assert.Regexp(t, `(?m)^  `+name+` +\S`, help)
		shows(t, exitFine, "new", "my-"+name, "--from", name)
		file := "my-" + name + designSuffix
		got, err := model.Load(file)
		require.NoError(t, err)
		want, err := model.Read(file, text)
		require.NoError(t, err)
		want.Prop.Name, want.Prop.Label = "my-"+name, model.LabelOf("my-"+name)
		for i := range want.Remote.Buttons {
			want.Remote.Buttons[i].Unlearned = true
		}
		assert.Equal(t, string(want.Format()), string(got.Format()))

		assert.Contains(t, shows(t, exitFine, "check", file), "\n1 note\n", name)
		for command, made := range map[string]string{"card": "card.pdf", "chart": "chart.svg", "tour": "tour.txt"} {
			shows(t, exitFine, command, file, "-o", made)
			info, err := os.Stat(made)
			require.NoError(t, err)
			assert.Greater(t, info.Size(), int64(1000), "%s of %s", made, name)
			require.NoError(t, os.Remove(made))
		}
	}
	assert.Len(t, designs.Examples(), 6)
	assert.Contains(t, shows(t, exitCall, "new", "gull", "--from", "lamp-towr"), `there is no example "lamp-towr"; did you mean lamp-tower?`)
	assert.NoFileExists(t, "gull"+designSuffix)
	assert.Contains(t, shows(t, exitFine, "__complete", "new", "gull", "--from", ""), "\nletterbox-wren\n")
}
