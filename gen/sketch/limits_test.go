package sketch_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
)

// What a build refuses is told by the check before, at the same place.
func refused(t *testing.T, d *model.Design) (said []string) {
	t.Helper()
	found, err := check.NewStudy(d).Check(sketch.Rules())
	require.NoError(t, err)
	for _, f := range found {
		if f.Rule == sketch.LimitRule.ID {
			assert.Equal(t, check.Error, f.Severity)
			said = append(said, fmt.Sprintf("%v: %s; %s", f.Pos, f.Message, f.Advice))
		}
	}
	_, err = sketch.Files(check.NewStudy(d))
	assert.Equal(t, len(said) > 0, err != nil, "%v, %v", said, err)
	return said
}

// buoy is a design with a message output.
func buoy(t *testing.T, old, new string) *model.Design {
	text, err := designs.FS.ReadFile("bell-buoy.prop.toml")
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(string(text), old), old)
	d, err := model.Read("buoy.prop.toml", []byte(strings.Replace(string(text), old, new, 1)))
	require.NoError(t, err)
	return d
}

// Divisors at 16 MHz: Microchip, "ATmega48A/PA/88A/PA/168A/PA/328/P" data
// sheet, DS40002061, "Examples of Baud Rate Setting", double speed (from
// memory); 300 baud, which need normal speed, by its formula.
func TestBaudRates(t *testing.T) {
	for baud, divisor := range map[int]int{
		2400: 832, 4800: 416, 9600: 207, 14_400: 138, 19_200: 103, 28_800: 68, 38_400: 51,
		57_600: 34, 76_800: 25, 115_200: 16, 250_000: 7, 500_000: 3, 1_000_000: 1,
		300: 3332,
	} {
		d := buoy(t, "baud = 9600", fmt.Sprint("baud = ", baud))
		assert.Empty(t, refused(t, d), baud)
		files, err := sketch.Files(check.NewStudy(d))
		require.NoError(t, err)
		for _, f := range files {
			if f.Path == "board.cpp" {
				assert.Contains(t, string(f.Text), fmt.Sprintf("UBRR0 = %d; /* %d baud */", divisor, baud))
				assert.Equal(t, baud > 488, strings.Contains(string(f.Text), "UCSR0A = _BV(U2X0);"), baud)
			}
		}
	}
}

func TestBaudRateThatIsOff(t *testing.T) {
	for baud, wrong := range map[int]string{
		230_400: "sends 3.5 % slower than 230400 baud: the other side misreads that; choose a rate that it can, such as 115200 or 250000,",
		460_800: "sends 8.5 % faster than 460800 baud: the other side misreads that; choose a rate that it can, such as 250000 or 500000,",
		921_600: "sends 8.5 % faster than 921600 baud: the other side misreads that; choose a rate that it can, such as 500000 or 1000000,",
	} {
		d := buoy(t, "baud = 9600", fmt.Sprint("baud = ", baud))
		said := refused(t, d)
		require.Len(t, said, 1, baud)
		assert.Contains(t, said[0], wrong)
		assert.Contains(t, said[0], d.Output("horn").At("baud").String())
	}
}

// A limit that is less than the firmware's unit would not be kept.
func TestSlowestServo(t *testing.T) {
	d := several(t, 0)[0]
	o := d.Output("neck")
	for speed, ok := range map[model.DegPerS]bool{0: true, 0.01: false, 0.3: true, 150: true} {
		o.MaxSpeed = speed
		said := refused(t, d)
		require.Equal(t, ok, len(said) == 0, "%v: %v", speed, said)
		if !ok {
			assert.Contains(t, said[0], fmt.Sprintf("the firmware cannot move neck as slowly as %v; choose at least ", speed))
		}
	}
	// The speed that is advised will do, and so will the acceleration.
	advised := func() (least float64) {
		said := refused(t, d)
		require.Len(t, said, 1)
		_, err := fmt.Sscanf(said[0][strings.Index(said[0], "at least ")+9:], "%f", &least)
		require.NoError(t, err)
		return least
	}
	o.MaxSpeed = 0.01
	least := advised()
	o.MaxSpeed = model.DegPerS(least)
	assert.Empty(t, refused(t, d))
	o.MaxSpeed = model.DegPerS(least / 2)
	assert.NotEmpty(t, refused(t, d), "not much more than needed")
	o.MaxSpeed, o.MaxAccel = 0, 1
	o.MaxAccel = model.DegPerS2(advised())
	assert.Empty(t, refused(t, d))
}

// The larger chip has room for more than its program can read as tables.
func TestTablesThatCannotBeRead(t *testing.T) {
	d := several(t, 0)[0]
	d.Prop.Board = "atmega2560"
	d.Remote.Pin = 50
	beak := *d.Output("beak")
	fill := func(name string, cues int) {
		r := model.Routine{Name: name}
		for i := range cues {
			r.Cues = append(r.Cues, model.Cue{
				At: time.Duration(i) * time.Second, Output: beak.Name, Action: model.Action{Over: time.Second, Last: -1},
			})
		}
		d.Routines = append(d.Routines, r)
		d.States = append(d.States, model.State{Name: name, Kind: model.Performing, Plays: name})
		d.Transitions = append(d.Transitions, model.Transition{From: []model.From{{State: name}}, On: []model.Trigger{{Kind: model.Press, Name: "one"}}, To: name})
	}
	fill("long", 3900)
	assert.Empty(t, refused(t, d))
	fill("longer", 200)
	said := refused(t, d)
	require.Len(t, said, 1)
	assert.Regexp(t, `the \d+ cues of poses and routines take 3\d{4} bytes; the firmware for the atmega2560 reads at most 32767 of one kind; make do with fewer`, said[0])

	// Several kinds together are more than it can address.
	long, longer := &d.Routines[len(d.Routines)-2], &d.Routines[len(d.Routines)-1]
	long.Cues, longer.Cues = long.Cues[:3700], longer.Cues[:1]
	for i := range 40 {
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{Name: fmt.Sprint("b", i), Code: fmt.Sprintf("nec:0x05:0x%02x", i)})
	}
	tr := model.Transition{Ignore: true}
	for _, b := range d.Remote.Buttons {
		tr.On = append(tr.On, model.Trigger{Kind: model.Press, Name: b.Name})
	}
	for i := range 200 {
		s := model.State{Name: fmt.Sprint("s", i), Kind: model.Ambient}
		d.States = append(d.States, s)
		tr.From = append(tr.From, model.From{State: s.Name})
	}
	d.Transitions = append(d.Transitions, tr)
	said = refused(t, d)
	require.Len(t, said, 1)
	assert.Regexp(t, `the design's tables take 6\d{4} bytes; the firmware for the atmega2560 reads at most 61439; the \d+ cues of .*, the \d+ cells of the matrix .*: make do with less`, said[0])
}
