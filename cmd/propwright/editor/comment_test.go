package editor

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
)

// A comment is written in the details like a note, and stands in the file
// above the element.
func TestComment(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	was := string(s.design().Format())
	stateDetails(s)
	for range 9 {
		s.keys("Down")
	}
	panelAt("comment")(s)
	s.sees("for who reads the file").keys("'first", "Ctrl-J", "'second").sees("first¶second").keys("Enter").sees("comment is first second", "comment      first")
	s.keys("Ctrl-S").sees("is saved")
	text, err := os.ReadFile(s.file())
	require.NoError(t, err)
	assert.Contains(t, string(text), "# first\n# second\n[[state]]\nname = \"watch\"\n")
	s.keys("Enter").sees("first¶second").keys("Esc", "Del")
	assert.Empty(t, s.design().Comment(model.Elem{Sort: model.SortState, Index: 1}))
	s.keys("Ctrl-Z", "Ctrl-Z").sees("taken back: comment on state watch")
	assert.Equal(t, was, string(s.design().Format()))
}

// What has no comment of its own in the file has none here.
func TestNoCommentOnParts(t *testing.T) {
	t.Parallel()
	s := newScene(t, 160, 50, 16)
	for _, at := range []model.Elem{{Sort: model.SortPose}, {Sort: model.SortDrift, Index: 1}} {
		require.True(t, s.design().Has(at))
		s.do(func() { s.e.openDetails(at) })
		s.sees("✗comment")
	}
	s.do(func() { s.e.openDetails(model.Elem{Sort: model.SortCue}) })
	s.sees("comment")
}

// A pasted text keeps its lines where there may be several, else it has one.
func TestPasteOfLines(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	stateDetails(s)
	s.keys("Down", "Down", "Enter", "Ctrl-U")
	s.do(func() { s.e.paste("Up in\r\nthe reeds\n") })
	s.keys("Enter").sees("label        Up in the reeds", "✗¶")
	for range 6 {
		s.keys("Down")
	}
	s.keys("Enter", "Ctrl-U")
	s.do(func() { s.e.paste("one\r\n\r\n  two\n") })
	s.keys("Enter")
	assert.Equal(t, "one\n\ntwo", s.design().Value(model.Elem{Sort: model.SortState, Index: 1}, "note"))
}
