package sketch

import (
	"bytes"
	goflag "flag"
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/gen"
	"propwright/gen/avr"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/designs/odd"
	"propwright/model/random"
)

// every are designs of all kinds for chips, some of them drawn.
func every(t *testing.T, drawn int) (ds []*model.Design) {
	for _, d := range odd.Whole(t) {
		if b, _ := board.ByName(d.Prop.Board); !b.Portable {
			ds = append(ds, d)
		}
	}
	g := rapid.Custom(random.Design)
	for i := range drawn {
		ds = append(ds, g.Example(i))
	}
	return ds
}

var drawn = goflag.Int("drawn", 4, "how many drawn designs TestEstimateAgainstTheCompiler compiles")

// The compiler says what is in SRAM and how much of it everything takes, and how
// far the estimate of flash is off.
func TestEstimateAgainstTheCompiler(t *testing.T) {
	if testing.Short() {
		t.Skip("it compiles much")
	}
	tools, err := avr.Find()
	require.NoError(t, err, "testdata/setup installs it")
	ds := append(onAllChips(t), every(t, *drawn)...)
	for i, d := range ds {
		study := check.NewStudy(d)
		f, err := newFirmware(study)
		if err != nil {
			continue // one that breaks a rule and cannot be built
		}
		elf := built(t, tools, d)
		said := map[string]int{}
		for _, v := range f.variables() {
			said[v.name] += v.bytes
		}
		name := fmt.Sprintf("%d: %s on the %s", i, d.Prop.Name, d.Prop.Board)
		assert.Equal(t, inSRAM(t, elf), said, name)
		wantFlash, wantSRAM, err := avr.Size(elf)
		require.NoError(t, err)
		flash, sram := Estimate(study)
		assert.Equal(t, wantSRAM, sram, name)
		assert.InDelta(t, wantFlash, flash, flashMargin, name)
	}
}

// onAllChips is the heron for every chip.
func onAllChips(t *testing.T) (ds []*model.Design) {
	for _, name := range board.Names() {
		b, _ := board.ByName(name)
		if b.Portable {
			continue
		}
		d, err := model.Read("heron.prop.toml", designs.HarbourHeron)
		require.NoError(t, err)
		d.Prop.Board = name
		connect(d, b)
		ds = append(ds, d)
	}
	return ds
}

// connect gives every output and the receiver a pin that can.
func connect(d *model.Design, b *board.Board) {
	used := map[int]bool{}
	pin := func(use board.Use) int {
		for n := range 100 {
			if !used[n] && b.Cannot(n, use) == "" {
				used[n] = true
				return n
			}
		}
		panic("no pin is left")
	}
	d.Remote.Pin = pin(board.UseReceiver)
	for i := range d.Inputs {
		d.Inputs[i].Pin = pin(board.UseInput)
	}
	for _, message := range []bool{true, false} { // which can be on one pin only
		for i := range d.Outputs {
			if o := &d.Outputs[i]; (o.Kind == model.KindMessage) == message {
				o.Pin = pin(board.Use(o.Kind))
			}
		}
	}
}

// What the check passes fits when it is compiled, and what it refuses does not:
// in SRAM to the byte, in flash but for what leaves less than two margins free.
func TestMemoryAtTheBoundary(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	tools, err := avr.Find()
	require.NoError(t, err, "testdata/setup installs it")
	ds := append(onAllChips(t), every(t, 1)...)
	full := 0
	for i, d := range ds {
		b, _ := board.ByName(d.Prop.Board)
		if _, err := newFirmware(check.NewStudy(d)); err != nil {
			continue // one that breaks a rule and cannot be built
		}
		fits := func(n int, grow func(n int)) (flash, sram int) {
			grow(n)
			flash, sram, err := avr.Size(built(t, tools, d))
			require.NoError(t, err)
			return b.UsableFlash() - flash, b.SRAMBytes - Stack - sram
		}
		refused := func(most int, grow func(n int)) (least int) {
			return sort.Search(most+1, func(n int) bool {
				grow(n)
				found, err := check.NewStudy(d).Check([]*check.Rule{MemoryRule})
				require.NoError(t, err)
				return len(found) > 0
			})
		}
		name := fmt.Sprintf("%d: %s on the %s", i, d.Prop.Name, d.Prop.Board)

		k := slices.IndexFunc(d.Outputs, func(o model.Output) bool { return o.Kind == model.KindPixels })
		if k >= 0 {
			was := d.Outputs[k].Count
			pixels := func(n int) { d.Outputs[k].Count = max(n, 1) }
			n := refused(board.LongestStrip, pixels)
			_, left := fits(n-1, pixels)
			assert.GreaterOrEqual(t, left, 0, "%s, %d pixels", name, n-1)
			if n <= board.LongestStrip {
				assert.Less(t, left, 3, "%s, %d pixels", name, n)
			}
			d.Outputs[k].Count = was
		}

		if len(d.Routines) == 0 || len(d.Routines[0].Cues) == 0 || b.UsableFlash() > math.MaxUint16 {
			continue
		}
		cues := d.Routines[0].Cues
		repeated := func(n int) { d.Routines[0].Cues = append(slices.Clip(cues), slices.Repeat(cues[:1], n)...) }
		if n := refused(5000, repeated); n <= 5000 { // else no state plays the routine
			left, _ := fits(n-1, repeated)
			assert.GreaterOrEqual(t, left, 0, "%s, %d more cues", name, n-1)
			assert.Less(t, left, 2*flashMargin+8, "%s, %d more cues", name, n-1)
			full++
		}
		d.Routines[0].Cues = cues
	}
	assert.NotZero(t, full)
}

// built compiles a design.
func built(t *testing.T, tools *avr.Toolchain, d *model.Design) (elf string) {
	files, err := Files(check.NewStudy(d))
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), Folder(d))
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
	b, _ := board.ByName(d.Prop.Board)
	elf, err = tools.Build(t.Context(), dir, t.TempDir(), b.MCU)
	require.NoError(t, err)
	return elf
}

// inSRAM gives what a program keeps in SRAM, in bytes by name.
func inSRAM(t *testing.T, elf string) map[string]int {
	list, err := exec.CommandContext(t.Context(), "avr-nm", "-S", "-C", elf).Output()
	require.NoError(t, err)
	sizes := map[string]int{}
	for line := range bytes.Lines(list) {
		words := strings.SplitN(strings.TrimSpace(string(line)), " ", 4) // address, size, kind, name
		if len(words) != 4 || !strings.Contains("bBdDvV", words[2]) {
			continue
		}
		size, err := strconv.ParseInt(words[1], 16, 64)
		require.NoError(t, err)
		sizes[words[3]] += int(size)
	}
	return sizes
}
