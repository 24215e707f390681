package editor

import (
	"fmt"
	"strings"
	"testing"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/editor/pane"
)

func TestKeyTable(t *testing.T) {
	t.Parallel()
	assert.Empty(t, clashes(actions))
	ids := map[string]bool{}
	for _, a := range actions {
		assert.False(t, ids[a.id], "%s is duplicated", a.id)
		ids[a.id] = true
		assert.NotEmpty(t, a.keys, a.id)
		assert.NotEmpty(t, a.label, a.id)
		assert.NotNil(t, a.run, a.id)
		assert.Contains(t, scopes, a.in, a.id)
	}
	for _, v := range viewOrder {
		assert.True(t, ids[string(v)], "no action shows the view %s", v)
	}
}

func TestClashesAreFound(t *testing.T) {
	t.Parallel()
	twice := append([]action{{id: "other", keys: []string{"Ctrl-S"}, in: anywhere}}, actions...)
	assert.Len(t, clashes(twice), 1)
}

// A view's key line names no key that the view itself uses otherwise.
func TestKeyLine(t *testing.T) {
	t.Parallel()
	newScene(t, 160, 50, 16).keys("F1").sees("Esc back", "✗Enter details")
	newScene(t, 160, 50, 16).keys("F7").sees("Enter go there", "✗Enter details")
	newScene(t, 160, 50, 16).keys("F3").sees("Enter details", "Ctrl-S save", "F1 help")
	newScene(t, 160, 50, 16).keys("Space", "Enter").sees("Enter take it", "Esc leave it", "✗Ctrl-S save", "✗F1 help")
}

func TestHelpShowsEveryAction(t *testing.T) {
	t.Parallel()
	var b strings.Builder
	for _, l := range helpText(actions, 500) {
		b.WriteString(l.text + "\n")
	}
	for _, a := range actions {
		assert.Contains(t, b.String(), a.keyText(), a.id)
		assert.Contains(t, b.String(), a.label, a.id)
	}
	for _, c := range cautions {
		assert.Contains(t, b.String(), c)
	}
}

// The palette cuts no label on a screen of 80 columns.
func TestLabelsFit(t *testing.T) {
	t.Parallel()
	for _, v := range viewOrder {
		for i := range actions {
			if a := &actions[i]; a.in == v || a.in == anywhere || a.in == inLists {
				keys := a.keyText()
				if a.in == v {
					keys = "F1 " + keys
				}
				assert.LessOrEqual(t, pane.Width(a.label+keys), 71, a.label)
			}
		}
	}
	newScene(t, 80, 24, 16).keys("Ctrl-P", "'duplicate").sees("» duplicate: a state with its transitions, a routine with its cues  Ctrl-D")
}

func TestKeyNames(t *testing.T) {
	t.Parallel()
	s := &scene{t: t}
	seen := map[string]bool{}
	for _, a := range actions {
		for _, k := range a.keys {
			if strings.ContainsRune(k, '…') || k == "a character" {
				continue
			}
			seen[k] = true
			evs := s.events(k)
			require.Len(t, evs, 1)
			assert.Equal(t, k, pane.KeyName(evs[0]))
		}
	}
	assert.Greater(t, len(seen), 40)
	assert.Equal(t, "Backspace", pane.KeyName(tcell.NewEventKey(tcell.KeyBackspace, 0, 0)))
	assert.Equal(t, "Enter", pane.KeyName(tcell.NewEventKey(tcell.KeyEnter, 0, 0)))
	assert.Equal(t, "Shift-Tab", pane.KeyName(tcell.NewEventKey(tcell.KeyBacktab, 0, 0)))
}

// clashes lists keys that stand for two actions of one scope.
func clashes(all []action) []string {
	var found []string
	seen := map[string]string{}
	for _, a := range all {
		for _, k := range a.keys {
			at := fmt.Sprintf("%s in %s", k, a.in)
			if other, twice := seen[at]; twice {
				found = append(found, fmt.Sprintf("%s: %s and %s", at, other, a.id))
			}
			seen[at] = a.id
		}
	}
	return found
}
