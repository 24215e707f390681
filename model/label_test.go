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
