package edit_test

import (
	"errors"
	"fmt"
	"runtime"
	"strings"
	"testing"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/edit"

	"github.com/stretchr/testify/require"
)

// crane has something of every sort, each mentioned by something.
const crane = `format = 1
[prop]
name = "crane"
board = "atmega328p"
[remote]
pin = 2
stop = "sleep"
[[remote.button]]
name = "sleep"
code = "nec:0x04:0x08"
[[remote.button]]
name = "wake"
code = "nec:0x04:0x18"
[[input]]
name = "tail"
pin = 7
[[output]]
name = "neck"
kind = "servo"
pin = 9
min = "-40deg"
max = "40deg"
us_at_min = 1100
us_at_max = 1900
[[output]]
name = "voice"
kind = "message"
pin = 1
baud = 9600
[[output.message]]
name = "trill"
bytes = "7E 01"
[[output.message]]
name = "hush"
bytes = "7E 00"
[[track]]
name = "call"
length = "2s"
play = { output = "voice", value = "trill" }
stop = "hush"
[[routine]]
name = "greet"
[[routine.cue]]
at = "0s"
output = "neck"
to = "40deg"
[[routine.cue]]
at = "1s"
track = "call"
[[routine.cue]]
at = "2s"
output = "voice"
send = "hush"
[[state]]
name = "roost"
kind = "dormant"
pose = { neck = "0deg" }
[[state]]
name = "watch"
kind = "ambient"
drift = [{ output = "neck", between = ["-20deg", "20deg"], every = "2s", over = "1s" }]
[[state]]
name = "greet"
kind = "performing"
plays = "greet"
[[transition]]
from = ["roost", "watch"]
on = ["press wake", "hold wake for 2s", "rise tail"]
to = "watch"
[[transition]]
from = "watch"
on = "release wake"
to = "greet"
[[transition]]
from = "watch"
on = "fall tail"
ignore = true
[[transition]]
from = "greet"
on = "done"
to = "back"
[[transition]]
from = "any"
on = "press sleep"
to = "roost"
[[require]]
that = "reachable watch"
[[require]]
that = "never performing within 3s after press sleep"
[[require]]
that = "watch within 2s after rise tail"
[[require]]
that = "from roost press wake, sleep, wake ends in watch"
`

func find(t testing.TB, d *model.Design, s model.Sort, name string) model.Elem {
	e, ok := d.Find(s, name)
	require.True(t, ok, "%s %s", s, name)
	return e
}

func TestRenameReachesEveryMention(t *testing.T) {
	for _, c := range []struct {
		sort     model.Sort
		from, to string
		mentions int // in the file, the name itself counted
	}{
		{model.SortState, "watch", "gaze", 8},
		{model.SortState, "roost", "perch", 4},
		{model.SortButton, "wake", "rise-up", 6},
		{model.SortButton, "sleep", "rest", 5},
		{model.SortInput, "tail", "tip", 4},
		{model.SortOutput, "neck", "throat", 4},
		{model.SortOutput, "voice", "horn", 3},
		{model.SortMessage, "trill", "tweet", 2},
		{model.SortMessage, "hush", "still", 3},
		{model.SortTrack, "call", "cry", 2},
		{model.SortRoutine, "greet", "bow", 2},
	} {
		t.Run(c.from, func(t *testing.T) {
			f := edit.New(design(t, crane))
			before := string(f.Design().Format())
			require.NoError(t, f.Rename(find(t, f.Design(), c.sort, c.from), c.to))
			after := string(f.Design().Format())
			_, err := model.Read("crane", []byte(after))
			require.NoError(t, err, "a mention dangles")
			require.Equal(t, fmt.Sprintf("rename %s %s to %s", c.sort.Noun(), c.from, c.to), f.Undoable())
			require.Equal(t, c.mentions, strings.Count(after, c.to))
			if c.from != "greet" { // the state of the name keeps it
				require.Equal(t, before, strings.ReplaceAll(after, c.to, c.from))
				require.NotContains(t, after, `"`+c.from+`"`)
			}
			f.Undo()
			require.Equal(t, before, string(f.Design().Format()))
		})
	}
}

func TestRenameTellsNamesApart(t *testing.T) {
	f := edit.New(design(t, crane))
	require.NoError(t, f.Rename(find(t, f.Design(), model.SortRoutine, "greet"), "bow"))
	d := f.Design()
	s := &d.States[find(t, d, model.SortState, "greet").Index]
	require.Equal(t, "bow", s.Plays)
	require.NoError(t, f.Rename(find(t, d, model.SortState, "greet"), "hello"))
	require.Equal(t, "bow", f.Design().States[2].Plays)
	require.Equal(t, "hello", f.Design().Transitions[1].To)
}

func TestRenameRefuses(t *testing.T) {
	f := edit.New(design(t, crane))
	for _, c := range []struct {
		sort     model.Sort
		name, to string
		err      string
	}{
		{model.SortState, "watch", "roost", "state roost is there already; choose another name"},
		{model.SortState, "watch", "any", `"any" cannot be a state's name: the word has its own meaning; choose another`},
		{model.SortMessage, "trill", "hush", "message hush is there already; choose another name"},
		{model.SortState, "watch", "Gaze!", `"Gaze!" is not a name; write "gaze": a name has small letters, digits and -, begins with a letter and has at most 24 characters`},
		{model.SortState, "watch", "", `state watch needs a name; add for example name = "watch"`},
	} {
		require.EqualError(t, f.Rename(find(t, f.Design(), c.sort, c.name), c.to), c.err)
	}
	require.EqualError(t, f.Rename(model.Elem{Sort: model.SortTransition}, "x"), "the transition from roost, watch on press wake, hold wake for 2s, rise tail has no name of its own")
	require.NoError(t, f.Rename(find(t, f.Design(), model.SortState, "watch"), "watch"), "the same name is not an edit")
	require.NoError(t, f.Rename(find(t, f.Design(), model.SortInput, "tail"), "watch"), "an input and a state may have one name")
}

func TestSetOfANameIsARename(t *testing.T) {
	f := edit.New(design(t, crane))
	require.NoError(t, f.Set(find(t, f.Design(), model.SortState, "watch"), "name", "gaze"))
	require.Equal(t, "gaze", f.Design().Transitions[0].To)
}

func TestDeleteTakesAlongWhatCannotStand(t *testing.T) {
	for _, c := range []struct {
		sort  model.Sort
		name  string
		takes []string
	}{
		{model.SortState, "watch", []string{
			"the transition from roost, watch on press wake, hold wake for 2s, rise tail goes",
			"the transition from watch on release wake goes",
			"the transition from watch on fall tail goes",
			`the requirement "reachable watch" goes`,
			`the requirement "watch within 2s after rise tail" goes`,
			`the requirement "from roost press wake, sleep, wake ends in watch" goes`,
		}},
		{model.SortState, "greet", []string{
			"the transition from watch on release wake goes",
			"the transition from greet on done goes",
		}},
		{model.SortButton, "wake", []string{
			"the transition from roost, watch on press wake, hold wake for 2s, rise tail no longer waits for it",
			"the transition from watch on release wake goes",
			`the requirement "from roost press wake, sleep, wake ends in watch" goes`,
		}},
		{model.SortInput, "tail", []string{
			"the transition from roost, watch on press wake, hold wake for 2s, rise tail no longer waits for it",
			"the transition from watch on fall tail goes",
			`the requirement "watch within 2s after rise tail" goes`,
		}},
		{model.SortOutput, "neck", []string{
			"the cue of greet at 0s goes",
			"the pose of neck in roost goes",
			"the drift of neck in watch goes",
		}},
		{model.SortOutput, "voice", []string{
			"track call goes",
			"the cue of greet at 2s goes",
			"the cue of greet at 1s goes",
		}},
		{model.SortMessage, "hush", []string{"track call no longer stops with it", "the cue of greet at 2s goes"}},
		{model.SortMessage, "trill", []string{"track call goes", "the cue of greet at 1s goes"}},
		{model.SortTrack, "call", []string{"the cue of greet at 1s goes"}},
		{model.SortRoutine, "greet", []string{"state greet no longer plays it"}},
		{model.SortSupply, "", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := edit.New(design(t, crane))
			at := model.Elem{Sort: c.sort}
			if c.name != "" {
				at = find(t, f.Design(), c.sort, c.name)
			}
			before := f.Design()
			takes, err := edit.Takes(before, at)
			require.NoError(t, err)
			require.Equal(t, c.takes, takes)
			require.NoError(t, f.Delete(at))
			_, err = model.Read("crane", f.Design().Format())
			require.NoError(t, err, "something dangles")
			_, there := f.Design().Find(c.sort, c.name)
			require.False(t, there && c.name != "")
			f.Undo()
			require.Equal(t, before, f.Design())
		})
	}
	// One of several sources is left out.
	f := edit.New(design(t, crane))
	takes, err := edit.Takes(f.Design(), find(t, f.Design(), model.SortState, "roost"))
	require.NoError(t, err)
	require.Equal(t, []string{
		"the transition from roost, watch on press wake, hold wake for 2s, rise tail no longer starts in it",
		"the transition from any on press sleep goes",
		`the requirement "from roost press wake, sleep, wake ends in watch" goes`,
	}, takes)
}

func TestDeleteRefuses(t *testing.T) {
	f := edit.New(design(t, crane))
	require.EqualError(t, f.Delete(find(t, f.Design(), model.SortButton, "sleep")), "button sleep is the stop button; make another one the stop button first")
	require.EqualError(t, f.Delete(model.Elem{Sort: model.SortProp}), "every design has the prop; it cannot be deleted")
	require.EqualError(t, f.Delete(model.Elem{Sort: model.SortState, Index: 3}), "there is no such state")
	require.EqualError(t, f.Delete(model.Elem{Sort: model.SortCue, Index: 5}), "there is no such cue")
}

func TestDuplicateOfAStateAnswersAlike(t *testing.T) {
	f := edit.New(design(t, crane))
	at, err := f.Duplicate(find(t, f.Design(), model.SortState, "watch"))
	require.NoError(t, err)
	d := f.Design()
	require.Equal(t, "watch-2", d.Name(at))
	require.Equal(t, model.Elem{Sort: model.SortState, Index: 2}, at)
	require.Len(t, d.States[2].Drift, 1)
	var lines []string
	for i := range d.Transitions {
		lines = append(lines, fmt.Sprintf("%s to %s", d.Title(model.Elem{Sort: model.SortTransition, Index: i}), d.Transitions[i].To))
	}
	require.Equal(t, []string{
		"the transition from roost, watch on press wake, hold wake for 2s, rise tail to watch",
		"the transition from watch-2 on press wake, hold wake for 2s, rise tail to watch-2",
		"the transition from watch, watch-2 on release wake to greet",
		"the transition from watch, watch-2 on fall tail to ",
		"the transition from greet on done to back",
		"the transition from any on press sleep to roost",
	}, lines)
	_, err = model.Read("crane", d.Format())
	require.NoError(t, err)
	at, err = f.Duplicate(at)
	require.NoError(t, err)
	require.Equal(t, "watch-3", f.Design().Name(at))
}

func TestDuplicateWithUsers(t *testing.T) {
	f := edit.New(design(t, crane))
	at, err := f.DuplicateWithUsers(find(t, f.Design(), model.SortRoutine, "greet"))
	require.NoError(t, err)
	d := f.Design()
	require.Equal(t, "greet-2", d.Name(at))
	for i := range d.Routines[0].Cues {
		require.Equal(t, d.Keys(model.Elem{Sort: model.SortCue, Index: 0, Part: i}), d.Keys(model.Elem{Sort: model.SortCue, Index: 1, Part: i}))
	}
	s := d.States[find(t, d, model.SortState, "greet-2").Index]
	require.Equal(t, "greet-2", s.Plays)
	require.Equal(t, "greet", d.States[2].Plays)
	require.Equal(t, []string{"greet", "greet-2"}, []string{d.Transitions[3].From[0].State, d.Transitions[3].From[1].State})
	_, ok := f.Undo()
	require.True(t, ok)
	require.False(t, f.Changed())
	_, err = f.DuplicateWithUsers(model.Elem{Sort: model.SortState})
	require.Error(t, err)
}

func TestDuplicateKeepsTheStart(t *testing.T) {
	f := edit.New(design(t, crane))
	_, err := f.Duplicate(find(t, f.Design(), model.SortState, "roost"))
	require.NoError(t, err)
	require.True(t, f.Design().States[0].Start)
	require.False(t, f.Design().States[1].Start)
	_, err = model.Read("crane", f.Design().Format())
	require.NoError(t, err)
}

func TestAddBeginsWithWhatStands(t *testing.T) {
	f := edit.New(design(t, crane))
	add := func(at model.Elem, keys ...edit.Key) model.Elem {
		e, err := f.Add(at, keys...)
		require.NoError(t, err)
		_, err = model.Read("crane", f.Design().Format())
		require.NoError(t, err, "%s", f.Undoable())
		return e
	}
	for i, kind := range model.OutputKinds {
		add(model.Elem{Sort: model.SortOutput, Index: 2 + i}, edit.Key{Key: "name", Value: "new-" + string(kind)},
			edit.Key{Key: "pin", Value: "3"}, edit.Key{Key: "kind", Value: string(kind)})
	}
	add(model.Elem{Sort: model.SortButton, Index: 1}, edit.Key{Key: "name", Value: "one"}, edit.Key{Key: "code", Value: "nec:0x04:0x11"})
	add(model.Elem{Sort: model.SortInput, Index: 1}, edit.Key{Key: "name", Value: "lid"}, edit.Key{Key: "pin", Value: "8"})
	add(model.Elem{Sort: model.SortMessage, Index: 1, Part: 2}, edit.Key{Key: "name", Value: "loud"}, edit.Key{Key: "bytes", Value: "7E 02"})
	add(model.Elem{Sort: model.SortTrack, Index: 1}, edit.Key{Key: "name", Value: "song"}, edit.Key{Key: "length", Value: "3s"},
		edit.Key{Key: "play", Value: `{ output = "voice", value = "loud" }`})
	r := add(model.Elem{Sort: model.SortRoutine, Index: 0}, edit.Key{Key: "name", Value: "bow"})
	for i := range f.Design().Outputs {
		o := &f.Design().Outputs[i]
		add(model.Elem{Sort: model.SortCue, Index: r.Index, Part: i}, edit.Key{Key: "at", Value: "1s"}, edit.Key{Key: "output", Value: o.Name})
	}
	add(model.Elem{Sort: model.SortCue, Index: r.Index}, edit.Key{Key: "track", Value: "song"})
	s := add(model.Elem{Sort: model.SortState, Index: 3}, edit.Key{Key: "name", Value: "doze"}, edit.Key{Key: "kind", Value: "dormant"})
	require.True(t, f.Design().States[0].Start, "roost is still the one to start in")
	for i, name := range []string{"neck", "new-servo", "new-spinner", "new-pixels", "new-switch"} {
		add(model.Elem{Sort: model.SortPose, Index: s.Index, Part: i}, edit.Key{Key: "output", Value: name})
	}
	for i, name := range []string{"new-servo", "new-spinner"} {
		add(model.Elem{Sort: model.SortDrift, Index: 1, Part: i}, edit.Key{Key: "output", Value: name})
	}
	add(model.Elem{Sort: model.SortTransition, Index: 5}, edit.Key{Key: "from", Value: "doze, watch"}, edit.Key{Key: "on", Value: "press one"}, edit.Key{Key: "to", Value: "roost"})
	add(model.Elem{Sort: model.SortTransition, Index: 0}, edit.Key{Key: "from", Value: "doze"}, edit.Key{Key: "on", Value: "press wake"}, edit.Key{Key: "ignore", Value: "true"})
	add(model.Elem{Sort: model.SortRequire, Index: 0}, edit.Key{Key: "that", Value: "reachable doze"})
	require.Equal(t, "add the requirement \"reachable doze\"", f.Undoable())
}

func TestAddRefuses(t *testing.T) {
	f := edit.New(design(t, crane))
	for _, c := range []struct {
		at   model.Elem
		keys []edit.Key
		err  string
	}{
		{model.Elem{Sort: model.SortState}, []edit.Key{{Key: "name", Value: "x"}}, `the new state needs "kind"`},
		{model.Elem{Sort: model.SortState}, []edit.Key{{Key: "name", Value: "watch"}, {Key: "kind", Value: "ambient"}}, "state watch is there already; choose another name"},
		{model.Elem{Sort: model.SortState, Index: 9}, []edit.Key{{Key: "name", Value: "x"}, {Key: "kind", Value: "ambient"}}, "a state can stand at 0 to 3 of its list, not at 9"},
		{model.Elem{Sort: model.SortState}, []edit.Key{{Key: "name", Value: "x"}, {Key: "kind", Value: "ambiant"}}, `"ambiant" is not a kind of state; write "ambient"`},
		{model.Elem{Sort: model.SortCue}, nil, "the new cue needs an output or a track"},
		{model.Elem{Sort: model.SortCue, Index: 7}, nil, "there is no such routine"},
		{model.Elem{Sort: model.SortMessage}, []edit.Key{{Key: "name", Value: "x"}, {Key: "bytes", Value: "00"}}, "output neck sends no messages; only an output of kind message does"},
		{model.Elem{Sort: model.SortPose, Index: 1}, []edit.Key{{Key: "output", Value: "voice"}}, "output voice is of kind message and has nothing to hold in a pose; use it in a routine's cue"},
		{model.Elem{Sort: model.SortPose}, []edit.Key{{Key: "output", Value: "neck"}}, "neck has its pose in roost already"},
		{model.Elem{Sort: model.SortDrift}, []edit.Key{{Key: "output", Value: "nek"}}, `there is no output "nek"; write "neck"`},
		{model.Elem{Sort: model.SortTransition}, []edit.Key{{Key: "from", Value: "watch"}, {Key: "on", Value: "press wake"}}, "the new transition needs a state to go to; write ignore where silence is meant"},
		{model.Elem{Sort: model.SortProp}, nil, "every design has one prop; it cannot be added"},
	} {
		_, err := f.Add(c.at, c.keys...)
		require.EqualError(t, err, c.err)
		require.Zero(t, f.Revision())
	}
}

func TestSetRefusesAnotherKindOfAnOutputInUse(t *testing.T) {
	f := edit.New(design(t, crane))
	err := f.Set(find(t, f.Design(), model.SortOutput, "neck"), "kind", "pixels")
	require.EqualError(t, err, "output neck is used by the cue of greet at 0s, the pose of neck in roost and the drift of neck in watch; add a new output, or delete these first")
	for range 3 {
		users := f.Design().Users(find(t, f.Design(), model.SortOutput, "neck"))
		require.NoError(t, f.Delete(users[0]))
	}
	require.NoError(t, f.Set(find(t, f.Design(), model.SortOutput, "neck"), "kind", "pixels"))
	_, err = model.Read("crane", f.Design().Format())
	require.NoError(t, err)
	require.Equal(t, 9, f.Design().Outputs[0].Pin)
}

// What an edit elsewhere puts out of range is a fault, and stays in the file.
func TestSetKeepsWhatItPutsOutOfRange(t *testing.T) {
	for _, c := range []struct{ output, key, value, wrong string }{
		{"vane", "rev_per_s", "0.5", "0.6rev/s is out of range"},
		{"rail", "count", "2", "3 is out of range"},
	} {
		text, err := designs.FS.ReadFile("bell-buoy.prop.toml")
		require.NoError(t, err)
		f := edit.New(design(t, string(text)))
		require.NoError(t, f.Set(find(t, f.Design(), model.SortOutput, c.output), c.key, c.value))
		text = f.Design().Format()
		again, err := model.Read("buoy", text)
		require.ErrorContains(t, err, c.wrong)
		require.Equal(t, string(text), string(again.Format()))
	}
}

func TestMove(t *testing.T) {
	f := edit.New(design(t, crane))
	names := func() (s string) {
		for i := range f.Design().States {
			s += f.Design().States[i].Name + " "
		}
		return s
	}
	require.NoError(t, f.Move(model.Elem{Sort: model.SortState, Index: 0}, 2))
	require.Equal(t, "watch greet roost ", names())
	require.NoError(t, f.Move(model.Elem{Sort: model.SortState, Index: 2}, 0))
	require.Equal(t, "roost watch greet ", names())
	require.EqualError(t, f.Move(model.Elem{Sort: model.SortState, Index: 2}, 3), "there is no further to move state greet")
	require.EqualError(t, f.Move(model.Elem{Sort: model.SortRemote}, 0), "there is only one remote")
	require.NoError(t, f.Move(model.Elem{Sort: model.SortCue, Part: 2}, 0))
	require.Equal(t, "hush", f.Design().Routines[0].Cues[0].Send)
}

func TestTogetherIsOneStep(t *testing.T) {
	f := edit.New(design(t, crane))
	before := f.Design()
	require.NoError(t, f.Rename(model.Elem{Sort: model.SortProp}, "stork"))
	f.Undo()
	err := f.Together("a new state with its way in", func() error {
		if _, err := f.Add(model.Elem{Sort: model.SortState, Index: 3}, edit.Key{Key: "name", Value: "dance"}, edit.Key{Key: "kind", Value: "ambient"}); err != nil {
			return err
		}
		return f.Fill(model.From{State: "watch"}, model.Trigger{Kind: model.Done}, edit.Outcome{To: "dance"})
	})
	require.NoError(t, err)
	require.Equal(t, "a new state with its way in", f.Undoable())
	require.Empty(t, f.Redoable(), "what was undone is gone")
	f.Undo()
	require.Equal(t, before, f.Design())
	require.Empty(t, f.Undoable())

	require.Equal(t, "a new state with its way in", f.Redoable())
	err = f.Together("fails", func() error {
		require.NoError(t, f.Rename(model.Elem{Sort: model.SortProp}, "stork"))
		return errors.New("no")
	})
	require.EqualError(t, err, "no")
	require.Equal(t, before, f.Design())
	require.Equal(t, "a new state with its way in", f.Redoable(), "a failure leaves what was undone")
}

func TestChangedSinceSaved(t *testing.T) {
	f := edit.New(design(t, crane))
	rename := func(name string) { require.NoError(t, f.Rename(model.Elem{Sort: model.SortProp}, name)) }
	require.False(t, f.Changed())
	rename("stork")
	require.True(t, f.Changed())
	f.Saved(f.Revision())
	require.False(t, f.Changed())
	f.Undo()
	require.True(t, f.Changed())
	f.Redo()
	require.False(t, f.Changed())
	f.Undo()
	rename("ibis")
	require.True(t, f.Changed())
	f.Undo()
	require.True(t, f.Changed(), "the saved design cannot be reached any more")
}

// large is a design of 200 states with 40 triggers each, every cell a
// transition of its own.
func large(t testing.TB) *model.Design {
	d := design(t, string(designs.HarbourHeron))
	d.States, d.Transitions, d.Requires = nil, nil, nil
	for i := range 40 - len(d.Remote.Buttons) {
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{Name: fmt.Sprintf("extra-%d", i), Code: fmt.Sprintf("nec:0x05:0x%02X", i)})
	}
	for i := range 200 {
		s := model.State{Name: fmt.Sprintf("state-%d", i), Kind: model.Ambient}
		if i == 0 {
			s.Kind = model.Dormant
		}
		d.States = append(d.States, s)
		for j := range d.Remote.Buttons {
			d.Transitions = append(d.Transitions, model.Transition{
				From: []model.From{{State: s.Name}},
				On:   []model.Trigger{{Kind: model.Press, Name: d.Remote.Buttons[j].Name}},
				To:   fmt.Sprintf("state-%d", (i+j)%200),
				Note: "so it is",
			})
		}
	}
	return d
}

// Thousands of edits of a large design can be undone without the memory of
// thousands of large designs, 8000 transitions each.
func TestUndoIsCheap(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	f := edit.New(large(t))
	first := f.Design()
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	const edits = 1000
	for i := range edits {
		on := model.Trigger{Kind: model.Press, Name: f.Design().Remote.Buttons[i%40].Name}
		require.NoError(t, f.Fill(model.From{State: fmt.Sprintf("state-%d", i*7%200)}, on, edit.Outcome{To: fmt.Sprintf("state-%d", i%200)}))
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	per := (int64(after.HeapAlloc) - int64(before.HeapAlloc)) / edits
	t.Logf("%d bytes of memory for each of %d edits", per, edits)
	require.Less(t, per, int64(10_000))
	for f.Undoable() != "" {
		f.Undo()
	}
	require.Equal(t, first, f.Design())
}

func BenchmarkFill(b *testing.B) {
	f := edit.New(large(b))
	i := 0
	for b.Loop() {
		i++
		on := model.Trigger{Kind: model.Press, Name: f.Design().Remote.Buttons[i%40].Name}
		if err := f.Fill(model.From{State: fmt.Sprintf("state-%d", i*7%200)}, on, edit.Outcome{To: fmt.Sprintf("state-%d", i%200)}); err != nil {
			b.Fatal(err)
		}
	}
}

// A pasted cue says what the copied one says, in its comments too.
func TestPasteKeepsComments(t *testing.T) {
	text := strings.Replace(crane, "[[routine.cue]]\nat = \"1s\"\ntrack", "# A trill.\n[[routine.cue]]\nat = \"1s\" # late\ntrack", 1)
	d, err := model.Read("crane.prop.toml", []byte(text))
	require.NoError(t, err)
	f := edit.New(d)
	added, err := f.Paste(0, edit.Copied(d, []model.Elem{{Sort: model.SortCue, Part: 1}}), 0)
	require.NoError(t, err)
	require.Len(t, added, 1)
	written := string(f.Design().Format())
	require.Contains(t, written, "# A trill.\n[[routine.cue]]\nat = \"0s\" # late\ntrack")
	require.Contains(t, written, "# A trill.\n[[routine.cue]]\nat = \"1s\" # late\ntrack")
}
