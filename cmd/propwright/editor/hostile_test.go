package editor

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/designs"
)

// A design's comments may have characters that act on a terminal, and so may
// what is typed or pasted. No cell of any screen has one; the mark of such a
// character is seen in its place.
func TestNothingDrawnActsOnTheTerminal(t *testing.T) {
	acting := "x\u009b31m\u202ey\u2028z"
	var text strings.Builder
	for line := range strings.Lines(string(designs.HarbourHeron)) {
		if strings.HasPrefix(line, "[") {
			text.WriteString("# " + acting + "\n")
		}
		text.WriteString(line)
	}
	s := openScene(t, 160, 50, 256, []byte(text.String()))
	marked := false
	look := func(keys ...string) {
		for _, key := range append([]string{""}, keys...) {
			if key != "" {
				s.keys(key)
			}
			cells, _, _ := s.screen.GetContents()
			for _, cell := range cells {
				for _, r := range cell.Runes {
					require.False(t, r != '\n' && model.IsControl(r), "%U after %v %q", r, keys, key)
					marked = marked || r == utf8.RuneError
				}
			}
		}
	}
	for _, screen := range []string{"F2", "F3", "F4", "F5", "F6", "F7", "F8", "F1"} {
		look(screen, "Down", "Tab", "End", "Enter", "Esc", "Esc")
	}
	require.True(t, marked, "no comment was seen")
	look("F2", "Ctrl-F", "'"+acting, "Esc", "Ctrl-P", "'"+acting, "Esc", "Ctrl-W", "'/"+acting, "Enter", "Esc", "Ctrl-R", "'"+acting, "Enter", "Esc")
}
