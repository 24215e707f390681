package bench

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen"
	"propwright/gen/avr"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/ir"
)

// What following a voice costs: bytes of flash for a second of it, and cycles in each
// frame for one output and for three.
func TestVoiceCosts(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	d, err := model.Load("../../model/designs/odd/voices.prop.toml")
	require.NoError(t, err)
	built := func(d *model.Design, spoil func(player string) string) string {
		files, err := sketch.Files(check.NewStudy(d.Wired()))
		require.NoError(t, err)
		dir := filepath.Join(t.TempDir(), sketch.Folder(d))
		_, err = gen.Write(dir, files)
		require.NoError(t, err)
		player := filepath.Join(dir, "player.c")
		text, err := os.ReadFile(player)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(player, []byte(spoil(string(text))), 0o644))
		return Compile(t, dir, d.Prop.Board)
	}
	as := func(s string) string { return s }

	const seconds = 60
	long := *d
	long.Tracks = slices.Clone(d.Tracks)
	long.Tracks[0].Loudness += strings.Repeat("8c", seconds*50/2)
	short, _, err := avr.Size(built(d, as))
	require.NoError(t, err)
	flash, _, err := avr.Size(built(&long, as))
	require.NoError(t, err)
	perSecond := float64(flash-short) / seconds
	t.Logf("%.1f bytes of flash for a second of voice", perSecond)
	assert.LessOrEqual(t, perSecond, 25.1)

	// A pin is turned over before and after a frame's work.
	const pin = 13
	program := built(d, func(player string) string {
		const call = "\n    voice_frame();"
		require.Equal(t, 1, strings.Count(player, call))
		return "#include <avr/io.h>\n" + strings.Replace(player, call, "\n    DDRB |= _BV(5); PINB = _BV(5); voice_frame(); PINB = _BV(5);", 1)
	})
	c := Start(t, program, Options{Pins: []int{pin}, Watch: []string{"pw_state"}, Step: 320})
	c.SetPin(d.Remote.Pin, High, 0)
	c.RunTo(100 * Millisecond)
	cycles := func(button string, ms uint64) (median uint64) {
		code, err := ir.ParseCode(d.Remote.Buttons[slices.IndexFunc(d.Remote.Buttons, func(b model.Button) bool { return b.Name == button })].Code)
		require.NoError(t, err)
		at := c.PlayIR(d.Remote.Pin, ir.Encode(code), c.Now()+Millisecond)
		c.RunTo(at)
		begun := len(c.Edges(pin))
		c.RunTo(at + ms*Millisecond)
		var all []uint64
		edges := c.Edges(pin)[begun+begun%2:]
		for i := 0; i+1 < len(edges); i += 2 {
			all = append(all, edges[i+1].At-edges[i].At)
		}
		slices.Sort(all)
		return all[len(all)/2] // without what interrupts add to some
	}
	chip := func(button string) float64 { return float64(cycles(button, 900)) }
	more := chip("speak") // two outputs, and for a third of the time three
	idle := chip("off")
	one := chip("chant")
	t.Logf("cycles in a frame: %.0f for one output, %.0f for two or three, %.0f where none follows", one, more, idle)
	assert.Greater(t, one, idle)
	assert.LessOrEqual(t, one, 700.0)
	assert.LessOrEqual(t, more, 1500.0)
	assert.LessOrEqual(t, idle, 100.0)
}
