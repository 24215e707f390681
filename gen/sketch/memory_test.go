package sketch_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/check"
	"propwright/model/designs"
)

// two is the heron with a second strip and longer ones.
func two(t *testing.T, pixels int) *model.Design {
	text := strings.Replace(string(designs.HarbourHeron), "count = 24\nmax_ma = 600", fmt.Sprintf("count = %d", pixels), 1)
	text = strings.Replace(text, "[[output]]\nname = \"water\"", fmt.Sprintf(`[[output]]
name = "reeds"
kind = "pixels"
pin = 13
count = %d

[[output]]
name = "water"`, pixels), 1)
	d, err := model.Read("heron.prop.toml", []byte(text))
	require.NoError(t, err)
	d.Supply.MaxMA = 0
	return d
}

func ofMemory(t *testing.T, d *model.Design) (found []string) {
	all, err := check.NewStudy(d).Check(sketch.Rules())
	require.NoError(t, err)
	for _, f := range all {
		if f.Rule == sketch.MemoryRule.ID {
			assert.Equal(t, check.Error, f.Severity)
			assert.Equal(t, d.Prop.At("board"), f.Pos)
			found = append(found, f.Message+"; "+f.Advice)
		}
	}
	return found
}

func TestMemorySRAM(t *testing.T) {
	assert.Empty(t, ofMemory(t, two(t, 200)), "1,200 bytes of 2,048")
	found := ofMemory(t, two(t, 320))
	require.Len(t, found, 1)
	assert.Regexp(t, `^the firmware takes 2\d{3} bytes of SRAM; the atmega328p has 1792, without 256 for the stack; 640 pixels take 1920 bytes, 5 servos take 160 bytes: make do`, found[0])
	d := two(t, 320)
	d.Prop.Board = "atmega2560"
	for i := range d.Outputs {
		d.Outputs[i].Pin += 20
	}
	assert.Empty(t, ofMemory(t, d), "8,192 bytes")
}

func TestMemoryFlash(t *testing.T) {
	d := two(t, 10)
	r := d.Routine("greet")
	first := r.Cues[0]
	for len(r.Cues) < 4000 {
		r.Cues = append(r.Cues, first)
	}
	found := ofMemory(t, d)
	require.Len(t, found, 1)
	assert.Regexp(t, `^the firmware may take \d+ bytes of flash; the atmega328p has 32256; the 4\d{3} cues of poses and routines take 3\d{4} bytes, the matrix of 8 states take`, found[0])
}

// boardless is a design that no firmware can be made for.
var boardless = &model.Design{States: []model.State{{Name: "roost", Kind: model.Dormant}}}

func measured(t *testing.T, d *model.Design, flash, sram, stack int) check.Findings {
	found, err := check.NewStudy(d).Check([]*check.Rule{sketch.Measured(flash, sram, stack)})
	require.NoError(t, err)
	return found
}

// What was measured counts as it is.
func TestMemoryMeasured(t *testing.T) {
	d := two(t, 10)
	assert.Empty(t, measured(t, d, 32256, 2048-sketch.Stack, 110))
	assert.Len(t, measured(t, d, 32257, 2048-sketch.Stack+1, 110), 2)
	assert.Empty(t, measured(t, boardless, 1e6, 1e6, 110), "no firmware")
	assert.Empty(t, measured(t, d, 32256, 424, 2048-424))
	found := measured(t, d, 32256, 424, 2048-423)
	require.Len(t, found, 1)
	assert.Equal(t, "the firmware takes 424 bytes of SRAM; the atmega328p has 423, without 1625 for the stack", found[0].Message)
	assert.Contains(t, found[0].Advice, "have smaller variables in the functions of hooks.cpp")
}

// What cannot be built because an output has no pin is checked all the same.
func TestCheckOfPinsThatAreNotThere(t *testing.T) {
	for _, name := range board.Names() {
		d, err := model.Read("heron.prop.toml", designs.HarbourHeron)
		require.NoError(t, err)
		d.Prop.Board = name
		for i := range d.Outputs {
			o := &d.Outputs[i]
			was := o.Pin
			o.Pin = 99
			found, err := check.NewStudy(d).Check(sketch.Rules())
			require.NoError(t, err)
			said := slices.ContainsFunc(found, func(f check.Finding) bool {
				return f.Rule == "pin-cannot" && f.Pos == o.At("pin")
			})
			assert.True(t, said, "%s on the %s", o.Name, name)
			o.Pin = was
		}
	}
}
