package random_test

import (
	"testing"

	"propwright/model/random"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestDesignKeepsItsSize(t *testing.T) {
	size := random.Usual
	size.States = random.Range{Lo: 3, Hi: 3}
	size.Outputs = random.Range{Lo: 2, Hi: 2}
	rapid.Check(t, func(t *rapid.T) {
		d := size.Design(t)
		assert.Len(t, d.States, 3)
		assert.Len(t, d.Outputs, 2)
		assert.LessOrEqual(t, len(d.Transitions), size.Transitions.Hi)
		assert.Equal(t, d.Remote.Buttons[0].Name, d.Remote.Stop)
	})
}
