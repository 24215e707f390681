package sketch_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/avr"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
)

// The compiler is the judge: avr-gcc, and avr-size for the sums.
func TestEstimateIsNearTheMeasured(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	need(t, "avr-gcc")
	tools, err := avr.Find()
	require.NoError(t, err)
	ds := several(t, 4)
	for _, name := range designs.Names() {
		text, err := designs.FS.ReadFile(name)
		require.NoError(t, err)
		d, err := model.Read(name, text)
		require.NoError(t, err)
		ds = append(ds, d)
	}
	for _, d := range ds {
		t.Run(d.Prop.Name, func(t *testing.T) {
			elf, err := tools.Build(t.Context(), write(t, d), t.TempDir(), "atmega328p")
			require.NoError(t, err)
			flash, sram, err := avr.Size(elf)
			require.NoError(t, err)
			estFlash, estSRAM := sketch.Estimate(check.NewStudy(d))
			assert.InEpsilon(t, flash, estFlash, 0.1)
			assert.InEpsilon(t, sram, estSRAM, 0.1)
		})
	}
}

func TestEstimateOfWhatCannotBeBuilt(t *testing.T) {
	flash, sram := sketch.Estimate(check.NewStudy(boardless))
	assert.Zero(t, flash)
	assert.Zero(t, sram)
}
