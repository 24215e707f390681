package model_test

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"propwright/model"
	"propwright/model/random"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// bare gives a design without places, and of the keys only those that have
// comments: what Read of its file must give back.
func bare(d *model.Design) *model.Design {
	c := *d
	strip(&c.Prop.Source)
	strip(&c.Remote.Source)
	strip(&c.Supply.Source)
	c.Remote.Buttons = each(c.Remote.Buttons, func(b *model.Button) { strip(&b.Source) })
	c.Inputs = each(c.Inputs, func(in *model.Input) { strip(&in.Source) })
	c.Events = each(c.Events, func(e *model.Event) { strip(&e.Source) })
	c.Outputs = each(c.Outputs, func(o *model.Output) {
		strip(&o.Source)
		o.Messages = each(o.Messages, func(m *model.Message) { strip(&m.Source) })
	})
	c.Tracks = each(c.Tracks, func(t *model.Track) { strip(&t.Source) })
	c.Routines = each(c.Routines, func(r *model.Routine) {
		strip(&r.Source)
		r.Cues = each(r.Cues, func(c *model.Cue) { strip(&c.Source) })
	})
	c.States = each(c.States, func(s *model.State) {
		strip(&s.Source)
		s.Drift = each(s.Drift, func(dr *model.Drift) { strip(&dr.Source) })
		s.Pose = each(s.Pose, func(p *model.Pose) { strip(&p.Source) })
	})
	c.Transitions = each(c.Transitions, func(t *model.Transition) {
		strip(&t.Source)
		t.From = each(t.From, func(f *model.From) { strip(&f.Source) })
		t.On = each(t.On, func(on *model.Trigger) { strip(&on.Source) })
		t.Do = each(t.Do, func(or *model.Order) { strip(&or.Source) })
	})
	c.Requires = each(c.Requires, func(q *model.Require) { strip(&q.Source) })
	return &c
}

func each[T any](all []T, f func(*T)) []T {
	var out []T
	for _, x := range all {
		f(&x)
		out = append(out, x)
	}
	return out
}

func strip(s *model.Source) {
	s.Pos = model.Pos{}
	var keys map[string]model.Key
	for name, k := range s.Keys {
		if len(k.Above) > 0 || k.Beside != "" {
			if keys == nil {
				keys = map[string]model.Key{}
			}
			keys[name] = model.Key{Comments: k.Comments}
		}
	}
	s.Keys = keys
}

// expanded are designs of the usual size, with outputs on expanders.
var expanded = func() random.Size {
	size := random.Usual
	size.Expander = true
	return size
}()

func TestReadGivesBackWhatFormatWrote(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := expanded.Design(t)
		text := d.Format()
		again, err := model.Read(d.File, text)
		require.NoError(t, err, "%s", text)
		require.Equal(t, bare(d), bare(again), "%s", text)
		require.Equal(t, string(text), string(again.Format()))
	})
}

// No key is shown as a table, and what is shown gives the same when it is typed.
func TestValuesAreShownInWords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := expanded.Design(t)
		var all []model.Elem
		for i := range d.States {
			all = append(all, model.SortState.At(0, i))
		}
		for i := range d.Transitions {
			all = append(all, model.SortTransition.At(0, i))
		}
		for i := range d.Tracks {
			all = append(all, model.SortTrack.At(0, i))
		}
		for i := range d.Outputs {
			all = append(all, model.SortOutput.At(0, i))
		}
		for _, e := range all {
			for _, kv := range d.Keys(e) {
				if kv.Value == "" || slices.Contains([]string{"note", "label", "file"}, kv.Key) {
					continue
				}
				require.NotContains(t, kv.Value, "{", kv.Key)
				require.NotContains(t, kv.Value, "[", kv.Key)
				n, err := d.With(e, kv.Key, kv.Value)
				require.NoError(t, err, "%s = %s", kv.Key, kv.Value)
				require.Equal(t, string(d.Format()), string(n.Format()), "%s = %s", kv.Key, kv.Value)
			}
		}
	})
}

// The file is TOML 1.0 to a reader that knows nothing of designs, and says
// the same to it however it is laid out ("TOML v1.0.0", 2021, toml.io).
func TestFormatKeepsTheTOMLValues(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := expanded.Design(t)
		var got map[string]any
		require.NoError(t, toml.Unmarshal(d.Format(), &got))
		require.Equal(t, int64(1), got["format"])
		prop := got["prop"].(map[string]any)
		require.Equal(t, d.Prop.Name, prop["name"])
		label, _ := prop["label"].(string)
		require.Equal(t, d.Prop.Label, label)
		note, _ := prop["note"].(string)
		require.Equal(t, d.Prop.Note, note)
		states := got["state"].([]any)
		require.Len(t, states, len(d.States))
		for i, s := range d.States {
			state := states[i].(map[string]any)
			require.Equal(t, s.Name, state["name"])
			label, _ := state["label"].(string)
			require.Equal(t, s.Label, label)
			pose, _ := state["pose"].(map[string]any)
			require.Len(t, pose, len(s.Pose))
		}
		transitions, _ := got["transition"].([]any)
		require.Len(t, transitions, len(d.Transitions))
	})
}

// mutate changes, drops, doubles or swaps bytes or lines of a text.
func mutate(t *rapid.T, text []byte) []byte {
	text = bytes.Clone(text)
	lines := bytes.SplitAfter(text, []byte("\n"))
	i := rapid.IntRange(0, len(lines)-1).Draw(t, "line")
	j := rapid.IntRange(0, len(lines)-1).Draw(t, "other line")
	switch rapid.IntRange(0, 4).Draw(t, "mutation") {
	case 0:
		lines = append(lines[:i], lines[i+1:]...)
	case 1:
		lines[i], lines[j] = lines[j], lines[i]
	case 2:
		lines[i] = append(bytes.Clone(lines[j]), lines[i]...)
	case 3:
		at := rapid.IntRange(0, len(text)-1).Draw(t, "at")
		text[at] = rapid.SampledFrom([]byte("\"'[]{}=#,.\n\\ x9-\x00\xff")).Draw(t, "byte")
		return text
	case 4:
		at := rapid.IntRange(0, len(text)-1).Draw(t, "at")
		return append(text[:at], text[min(len(text), at+rapid.IntRange(1, 9).Draw(t, "cut")):]...)
	}
	return bytes.Join(lines, nil)
}

// checkRead holds for any text: Read does not panic, faults are in order and
// in the file, and what it read can be written as TOML; where there are no
// faults, a second reading changes nothing.
func checkRead(t require.TestingT, text []byte) {
	d, err := model.Read("f", text)
	if err != nil {
		faults := err.(model.Faults)
		require.NotEmpty(t, faults)
		lines := bytes.Split(text, []byte("\n"))
		last := model.Pos{}
		for _, f := range faults {
			require.NotEmpty(t, f.Wrong)
			require.Equal(t, "f", f.Pos.File)
			if f.Pos.IsValid() {
				require.LessOrEqual(t, f.Pos.Line, len(lines))
				require.LessOrEqual(t, f.Pos.Column, len(lines[f.Pos.Line-1])+1, "%v", f)
			}
			inOrder := last.Line < f.Pos.Line || last.Line == f.Pos.Line && last.Column <= f.Pos.Column
			require.True(t, inOrder, "%v", err)
			last = f.Pos
		}
	}
	var values map[string]any
	if d == nil {
		return
	}
	once := d.Format()
	require.NoError(t, toml.Unmarshal(once, &values), "%s", once)
	if err != nil {
		return
	}
	again, err := model.Read("f", once)
	require.NoError(t, err, "%s", once)
	require.Equal(t, bare(d), bare(again))
	require.Equal(t, string(once), string(again.Format()))
}

func TestReadOfMutatedDesigns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := expanded.Design(t).Format()
		for range rapid.IntRange(1, 3).Draw(t, "mutations") {
			if len(text) > 0 {
				text = mutate(t, text)
			}
		}
		checkRead(t, text)
	})
}

func TestReadOfRandomBytes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkRead(t, rapid.SliceOf(rapid.Byte()).Draw(t, "bytes"))
	})
}

// Fuzzing goes on with -fuzz FuzzRead -fuzzminimizetime 10x: by default most of
// the time is spent on making files of many lines shorter.
func FuzzRead(f *testing.F) {
	for _, folder := range []string{"designs", "designs/odd"} {
		files, err := filepath.Glob(folder + "/*.prop.toml")
		require.NoError(f, err)
		require.NotEmpty(f, files)
		for _, name := range files {
			text, err := os.ReadFile(name)
			require.NoError(f, err)
			f.Add(text)
		}
	}
	f.Fuzz(func(t *testing.T, text []byte) { checkRead(t, text) })
}
