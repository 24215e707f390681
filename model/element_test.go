package model_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/designs"

	"github.com/stretchr/testify/require"
)

func heron(t testing.TB) *model.Design {
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	return d
}

func elem(t testing.TB, d *model.Design, s model.Sort, name string) model.Elem {
	e, ok := d.Find(s, name)
	require.True(t, ok, "%s %s", s, name)
	return e
}

// What is typed is read as the file's reader reads it: with and without the
// file's quotes and brackets, and with the same errors.
func TestWithReadsWhatIsTyped(t *testing.T) {
	d := heron(t)
	neck := elem(t, d, model.SortOutput, "neck")
	watch := elem(t, d, model.SortState, "watch")
	prop := model.Elem{Sort: model.SortProp}
	transition := model.Elem{Sort: model.SortTransition}
	drift := model.Elem{Sort: model.SortDrift, Index: watch.Index}
	for _, c := range []struct {
		at         model.Elem
		key, typed string
		shown, err string
	}{
		{neck, "max", "45deg", "45deg", ""},
		{neck, "max", ` "45deg" `, "45deg", ""},
		{neck, "max", "45", "", `"45" has no unit; write "45deg"`},
		{neck, "max", "45°", "", `"°" is not a unit of an angle; write "45deg"`},
		{neck, "max", "", "", `output neck needs a max; add for example max = "45deg"`},
		{neck, "pin", "11", "11", ""},
		{neck, "pin", `"11"`, "", `a text stands where a whole number is wanted; write 11, without quotes`},
		{neck, "pin", "A0", "14", ""},
		{neck, "pin", "a5", "19", ""},
		{neck, "pin", "eleven", "", "a text stands where a whole number is wanted"},
		{neck, "stall_ma", "700mA", "700", ""},
		{neck, "count", "3", "", `output neck has no key "count"; its keys are name, kind, pin, bus, channel, min, max, rest, us_at_min, us_at_max, max_speed, max_accel, stall_ma, note`},
		{prop, "label", "The grey one", "The grey one", ""},
		{prop, "label", "12", "12", ""},
		{prop, "label", "true", "true", ""},
		{prop, "label", `"two" herons`, `"two" herons`, ""},
		{prop, "label", `"\"two\""`, `"\"two\""`, ""},
		{prop, "label", "a, b", "a, b", ""},
		{prop, "label", "", "", ""},
		{prop, "label", "a\tb", "", "the text has the control character U+0009; leave it out: the text is shown to people"},
		{prop, "note", "two\nlines", "two\nlines", ""},
		{prop, "rest_within", "2.5s", "2.5s", ""},
		{prop, "seed", "7", "7", ""},
		{prop, "board", "Uno", "", `"Uno" is not a board's chip; write "atmega328p", the chip on it`},
		{prop, "board", "Arduino Mega 2560 Rev3", "", `"Arduino Mega 2560 Rev3" is not a board's chip; write "atmega2560", the chip on it`},
		{prop, "board", "pro micro", "", `"pro micro" is not a board's chip; write "atmega32u4", the chip on it`},
		{prop, "board", "nano33", "", `"nano33" is not a board; write "atmega328p", "atmega2560", "atmega32u4" or "portable32"`},
		{prop, "seed", "-7", "", "-7 is out of range; write a whole number from 0 to 4294967295"},
		{watch, "kind", "dormant", "dormant", ""},
		{watch, "kind", "domant", "", `"domant" is not a kind of state; write "dormant"`},
		{watch, "start", "true", "true", ""},
		{watch, "start", "yes", "", "a text stands where true or false is wanted; write true or false, without quotes"},
		{watch, "plays", "greet", "greet", ""},
		{watch, "plays", "gret", "", `there is no routine "gret"; write "greet"`},
		{watch, "pose", `{ neck = "10deg" }`, "neck 10deg", ""},
		{watch, "pose", "neck 10deg, water breathe blue period 4s", "neck 10deg, water breathe #0000ff period 4s", ""},
		{watch, "pose", `neck = "10deg", water = black`, "neck 10deg, water #000000", ""},
		{watch, "pose", "neck 10", "", `"10" has no unit; write "10deg"`},
		{watch, "pose", "nek 10deg", "", `there is no output "nek"; write "neck"`},
		{watch, "pose", "water breathe blue perod 4s", "", `the pose of "water" has no key "perod"; write period`},
		{watch, "drift", "neck -10deg..10deg every 2s..6s over 1s", "neck -10deg..10deg every 2s..6s over 1s", ""},
		{watch, "drift", "neck -10deg..10deg over 1s", "", `the drift has no every; add for example every = "2s..6s"`},
		{transition, "do", "neck by 5deg, water toggle orange", "neck by 5deg, water #ffa500 toggle", ""},
		{transition, "do", "neck", "", `nothing is asked of "neck"; add to or by`},
		{transition, "do", "neck 5", "", `"5" has no unit; write "5deg"`},
		{watch, "pose", `{ nek = "10deg" }`, "", `there is no output "nek"; write "neck"`},
		{transition, "from", "roost, watch", "roost, watch", ""},
		{transition, "from", `["roost", "any ambient"]`, "roost, any ambient", ""},
		{transition, "from", "roost, wacth", "", `there is no state "wacth"; write "watch"`},
		{transition, "on", "press wake, after 20s..40s", "press wake, after 20s..40s", ""},
		{transition, "on", "pres wake", "", `"pres wake" is not a trigger; write "press wake"`},
		{transition, "on", "press wake, press wake", "", `trigger "press wake" is duplicated; keep one of them`},
		{transition, "to", "back", "back", ""},
		{drift, "between", "-10deg, 10deg", "-10deg, 10deg", ""},
		{drift, "between", "10deg, -10deg", "", `between runs backwards, from 10deg to -10deg; write ["-10deg", "10deg"]`},
		{drift, "every", "6s..2s", "", `the range 6s..2s runs backwards; write "2s..6s"`},
		{drift, "output", "water", "", `output "water" is pixels and cannot drift; only a servo or a spinner drifts`},
		{model.Elem{Sort: model.SortState, Index: 99}, "name", "x", "", "there is no such state"},
	} {
		before := string(d.Format())
		n, err := d.With(c.at, c.key, c.typed)
		require.Equal(t, before, string(d.Format()), "the design was changed")
		if c.err != "" {
			require.EqualError(t, err, c.err, "%s = %s", c.key, c.typed)
			continue
		}
		require.NoError(t, err, "%s = %s", c.key, c.typed)
		require.Equal(t, c.shown, n.Value(c.at, c.key), "%s = %s", c.key, c.typed)
	}
}

func TestKeysOfAnElement(t *testing.T) {
	d := heron(t)
	keys := d.Keys(elem(t, d, model.SortState, "greeting"))
	var lines []string
	for _, k := range keys {
		lines = append(lines, k.Key+" = "+k.Value+" / "+k.Default)
	}
	require.Equal(t, []string{
		"name = greeting / ", "kind = performing / ", "label =  / ", "start =  / false", "plays = greet / ",
		"pose =  / ", "over =  / 0s", "drift =  / ", "note =  / ",
	}, lines)
	require.Equal(t, []string{"dormant", "ambient", "performing"}, keys[1].Choices)
	require.True(t, keys[1].Need)
	require.Equal(t, []string{"greet", "strike", "preen", "spread", "squall"}, keys[4].Choices)
	require.Nil(t, d.Keys(model.Elem{Sort: model.SortMessage}))
	neck := d.Keys(elem(t, d, model.SortOutput, "neck"))
	require.Equal(t, []string{"3", "9", "13", "A0", "A1", "A2", "A3", "A4", "A5"}, neck[2].Choices, "its own and free ones")
}

// A key that is taken away or decided by another leaves its comments behind.
func TestWithKeepsComments(t *testing.T) {
	text := strings.Replace(string(designs.HarbourHeron), "on = \"press wake\"\nto = \"watch\"", "on = \"press wake\"\n# where it can see\nto = \"watch\" # the harbour", 1)
	d, err := model.Read("heron", []byte(text))
	require.NoError(t, err)
	at := model.Elem{Sort: model.SortTransition}
	n, err := d.With(at, "to", "wade")
	require.NoError(t, err)
	require.Contains(t, string(n.Format()), "# where it can see\nto = \"wade\" # the harbour\n")
	n, err = d.With(at, "ignore", "true")
	require.NoError(t, err)
	require.Contains(t, string(n.Format()), "# where it can see\n# the harbour\n[[transition]]\nfrom = \"roost\"\non = \"press wake\"\nignore = true\n")
	_, err = model.Read("heron", n.Format())
	require.NoError(t, err)
}

// A cue that is given another output, or a track, asks for what that can do.
func TestWithFollowsAnotherOutput(t *testing.T) {
	d := heron(t)
	greet := elem(t, d, model.SortRoutine, "greet")
	cue := model.Elem{Sort: model.SortCue, Index: greet.Index}
	for _, o := range d.Outputs {
		n, err := d.With(cue, "output", o.Name)
		require.NoError(t, err)
		_, err = model.Read("heron", n.Format())
		require.NoError(t, err, o.Name)
	}
	n, err := d.With(cue, "track", d.Tracks[0].Name)
	require.NoError(t, err)
	require.Empty(t, n.Routines[greet.Index].Cues[0].Output)
	_, err = model.Read("heron", n.Format())
	require.NoError(t, err)
	n, err = n.With(cue, "output", "neck")
	require.NoError(t, err)
	require.Empty(t, n.Routines[greet.Index].Cues[0].Track)
	_, err = model.Read("heron", n.Format())
	require.NoError(t, err)
}

func TestOutputOfAnotherKindKeepsWhatBothHave(t *testing.T) {
	d := heron(t)
	neck := elem(t, d, model.SortOutput, "neck")
	n, err := d.With(neck, "kind", "spinner")
	require.NoError(t, err)
	o := n.Outputs[neck.Index]
	require.Equal(t, d.Outputs[neck.Index].StallMA, o.StallMA)
	require.Equal(t, d.Outputs[neck.Index].Pin, o.Pin)
	require.Zero(t, o.UsAtMin)
	require.NotContains(t, string(n.Format()), "us_at_min = 1100\nus_at_max = 1900\nstop_us")
	for _, kind := range model.OutputKinds {
		o := model.FirstOutput(kind)
		o.Name, o.Pin = "first", 3
		alone := *d
		alone.Outputs = append(alone.Outputs[:len(alone.Outputs):len(alone.Outputs)], o)
		_, err := model.Read("heron", alone.Format())
		require.NoError(t, err, kind)
	}
}

// Every element is found again at its own place in the file.
func TestElemAt(t *testing.T) {
	d := heron(t)
	for i := range d.States {
		e, ok := d.ElemAt(d.States[i].At("kind"))
		require.True(t, ok)
		require.Equal(t, model.Elem{Sort: model.SortState, Index: i}, e)
	}
	for i := range d.Routines {
		for j := range d.Routines[i].Cues {
			e, ok := d.ElemAt(d.Routines[i].Cues[j].Source.At("at"))
			require.True(t, ok)
			require.Equal(t, model.Elem{Sort: model.SortCue, Index: i, Part: j}, e)
		}
	}
	watch := elem(t, d, model.SortState, "watch")
	e, ok := d.ElemAt(d.States[watch.Index].Drift[1].At("every"))
	require.True(t, ok)
	require.Equal(t, model.Elem{Sort: model.SortDrift, Index: watch.Index, Part: 1}, e)
	_, ok = d.ElemAt(model.Pos{Line: 1, Column: 1})
	require.False(t, ok, "above the first element")
}

func TestTitles(t *testing.T) {
	d := heron(t)
	for _, c := range []struct {
		at    model.Elem
		title string
	}{
		{model.Elem{Sort: model.SortRemote}, "the remote"},
		{model.Elem{Sort: model.SortButton, Index: 1}, "button wake"},
		{model.Elem{Sort: model.SortTransition, Index: 12}, "the transition from any on press wake, press wander, press one, 5 more"},
		{model.Elem{Sort: model.SortPose, Index: 1}, "the pose of beak in watch"},
		{model.Elem{Sort: model.SortState, Index: 99}, "no state"},
	} {
		require.Equal(t, c.title, d.Title(c.at))
	}
}

// An output may be called as TOML's words are; it is chosen all the same.
func TestAnOutputCalledTrue(t *testing.T) {
	d, err := model.Load("designs/rules/unused-message.prop.toml")
	require.NoError(t, err)
	d.Outputs = append(d.Outputs, model.Output{Name: "true", Kind: model.KindPulse, Pin: 5, Hold: 100 * time.Millisecond})
	d, err = d.With(model.SortTrack.At(0, 0), "play", "true")
	require.NoError(t, err)
	require.Equal(t, model.Play{Output: "true"}, d.Tracks[0].Play)
	require.Equal(t, "true", d.Value(model.SortTrack.At(0, 0), "play"))
}

// A track's `stop` offers the other messages of its output, off for a switch, then the
// outputs that a board's stop input can be at, and takes each.
func TestTrackOffersWhatStopsIt(t *testing.T) {
	d, err := model.Load("designs/rules/unused-message.prop.toml")
	require.NoError(t, err)
	d.Outputs = append(d.Outputs, model.Output{Name: "quiet", Kind: model.KindPulse, Pin: 5, Hold: 100 * time.Millisecond})
	for _, c := range []struct {
		play model.Play
		want []string
	}{
		{d.Tracks[0].Play, []string{"two", "hush", "lamp", "quiet"}},
		{model.Play{Output: "lamp"}, []string{"off", "voice one", "voice two", "voice hush", "quiet"}},
		{model.Play{Output: "quiet"}, []string{"lamp", "voice one", "voice two", "voice hush"}},
	} {
		d.Tracks[0].Play = c.play
		track := model.SortTrack.At(0, 0)
		i := slices.IndexFunc(d.Keys(track), func(kv model.KeyValue) bool { return kv.Key == "stop" })
		offered := d.Keys(track)[i].Choices
		require.Equal(t, c.want, offered)
		for _, stop := range offered {
			with, err := d.With(track, "stop", stop)
			require.NoError(t, err)
			_, err = model.Read("", []byte(with.Format()))
			require.NoError(t, err, stop)
			require.Equal(t, stop, with.Value(track, "stop"))
		}
	}
}

// A drift's `output` offers exactly the outputs that it takes.
func TestDriftOffersWhatItTakes(t *testing.T) {
	d := heron(t)
	watch := elem(t, d, model.SortState, "watch")
	drift := model.Elem{Sort: model.SortDrift, Index: watch.Index}
	var offered []string
	for _, kv := range d.Keys(drift) {
		if kv.Key == "output" {
			offered = kv.Choices
		}
	}
	require.NotEmpty(t, offered)
	require.Less(t, len(offered), len(d.Outputs))
	for i := range d.Outputs {
		name := d.Outputs[i].Name
		_, err := d.With(drift, "output", name)
		require.Equal(t, err == nil, slices.Contains(offered, name), "%s: %v", name, err)
	}
}
