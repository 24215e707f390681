package model_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"propwright/model"
)

func TestLabelOf(t *testing.T) {
	for name, want := range map[string]string{
		"harbour-heron": "Harbour Heron",
		"owl":           "Owl",
		"r2-":           "R2",
		"a--b":          "A B",
		"":              "",
	} {
		assert.Equal(t, want, model.LabelOf(name), name)
	}
}

func TestVisible(t *testing.T) {
	assert.Equal(t, "a b ä🦩", model.Visible(" a\t\n b\u202e\u200b \x07ä🦩\ufeff"))
	assert.Equal(t, "", model.Visible("\u202e\n"))
}
