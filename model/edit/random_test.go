package edit_test

import (
	"fmt"
	"strings"
	"testing"

	"propwright/model"
	"propwright/model/edit"
	"propwright/model/machine"
	"propwright/model/random"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var sorts = []model.Sort{
	model.SortProp, model.SortRemote, model.SortSupply, model.SortButton, model.SortInput, model.SortOutput, model.SortMessage,
	model.SortTrack, model.SortRoutine, model.SortCue, model.SortState, model.SortPose, model.SortDrift, model.SortTransition, model.SortRequire,
}

// elems lists all elements of a design.
func elems(d *model.Design) []model.Elem {
	var all []model.Elem
	for _, s := range sorts {
		if s.Parent() == "" {
			for i := range d.Len(s, 0) {
				all = append(all, model.Elem{Sort: s, Index: i})
			}
			continue
		}
		for i := range d.Len(s.Parent(), 0) {
			for j := range d.Len(s, i) {
				all = append(all, model.Elem{Sort: s, Index: i, Part: j})
			}
		}
	}
	return all
}

func drawElem(t *rapid.T, d *model.Design) model.Elem {
	return rapid.SampledFrom(elems(d)).Draw(t, "element")
}

// texts are values that fit some keys, and some that fit none.
var texts = []string{
	"", "true", "false", "0", "1", "12", "-7", "1.5", "20ms", "2s", "800ms..1.5s", "40deg", "-12.5deg", "300deg", "0.5rev/s", "60%", "#2040ff",
	"servo", "pixels", "dormant", "ambient", "performing", "up", "low", "smooth", "breathe", "back", "any", "any ambient", "done", "after 20s",
	"7E 02 0A", "nec:0x04:0x18", "free text, with a comma", `"quoted"`, "two\nlines", "{ output = \"x\" }", "[]", "é漢", "reachable x", "-40deg, 40deg",
}

func drawText(t *rapid.T, kv model.KeyValue) string {
	switch n := rapid.IntRange(0, 3).Draw(t, "text of"); {
	case n == 0 && len(kv.Choices) > 0:
		return rapid.SampledFrom(kv.Choices).Draw(t, "choice")
	case n == 1:
		return kv.Value
	}
	return rapid.SampledFrom(texts).Draw(t, "text")
}

func drawRow(t *rapid.T, d *model.Design) model.From {
	rows := []model.From{{State: model.Any}}
	for _, k := range model.StateKinds {
		rows = append(rows, model.From{State: model.Any, Kind: k})
	}
	for i := range d.States {
		rows = append(rows, model.From{State: d.States[i].Name})
	}
	return rapid.SampledFrom(rows).Draw(t, "row")
}

func drawOutcome(t *rapid.T, d *model.Design) edit.Outcome {
	switch rapid.IntRange(0, 5).Draw(t, "outcome") {
	case 0:
		return edit.Outcome{}
	case 1:
		return edit.Outcome{Ignore: true}
	case 2:
		return edit.Outcome{To: model.Back, Defer: rapid.Bool().Draw(t, "defer")}
	}
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.TakesOrders() && rapid.IntRange(0, 3).Draw(t, "orders if 0") == 0 {
			return edit.Outcome{Do: d.OrdersText(&model.Transition{Do: []model.Order{model.FirstOrder(o)}})}
		}
	}
	if len(d.States) == 0 {
		return edit.Outcome{To: "nowhere"}
	}
	return edit.Outcome{
		To:    rapid.SampledFrom(d.States).Draw(t, "target").Name,
		Defer: rapid.IntRange(0, 2).Draw(t, "deferred if 0") == 0,
	}
}

// drawEdit does any edit; many of them are refused.
func drawEdit(t *rapid.T, f *edit.Draft) error {
	d := f.Design()
	at := drawElem(t, d)
	switch rapid.IntRange(0, 7).Draw(t, "edit") {
	case 0, 1:
		kvs := d.Keys(at)
		kv := rapid.SampledFrom(kvs).Draw(t, "key")
		return f.Set(at, kv.Key, drawText(t, kv))
	case 2:
		return f.Rename(at, rapid.StringMatching(`[a-z][a-z0-9]{0,2}`).Draw(t, "name"))
	case 3:
		return f.Delete(at)
	case 4:
		_, err := f.Duplicate(at)
		return err
	case 5:
		return f.Move(at, rapid.IntRange(-1, 5).Draw(t, "to"))
	case 6:
		on := rapid.SampledFrom(machine.NewMatrix(d).Columns()).Draw(t, "column")
		return f.Fill(drawRow(t, d), on, drawOutcome(t, d))
	}
	keys := []edit.Key{}
	for _, k := range at.Sort.Needs() {
		keys = append(keys, edit.Key{Key: k, Value: rapid.SampledFrom(append(texts, choose(d, at, k)...)).Draw(t, k)})
	}
	if at.Sort == model.SortTransition {
		keys = append(keys, edit.Key{Key: "to", Value: rapid.SampledFrom(choose(d, at, "to")).Draw(t, "to")})
	}
	_, err := f.Add(at, keys...)
	return err
}

// choose lists names that a key may want.
func choose(d *model.Design, at model.Elem, key string) []string {
	for _, kv := range d.Keys(at) {
		if kv.Key == key {
			return append(kv.Choices, kv.Value)
		}
	}
	return nil
}

// Every edit is undone to what was before, and redone to what was after; an
// edit that is refused changes nothing. No design is changed once it is out.
func TestUndoGivesBackEveryDesign(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := edit.New(expanded.Design(t))
		designs := []*model.Design{f.Design()}
		files := []string{string(f.Design().Format())}
		labels := []string{""}
		for range rapid.IntRange(1, 12).Draw(t, "edits") {
			before, revision := f.Design(), f.Revision()
			err := drawEdit(t, f)
			if err != nil {
				require.NotEmpty(t, err.Error())
				require.Same(t, before, f.Design(), "%v", err)
			}
			if f.Design() == before {
				require.Equal(t, revision, f.Revision())
				continue
			}
			require.NotEqual(t, revision, f.Revision())
			require.NotEqual(t, before, f.Design())
			designs = append(designs, f.Design())
			files = append(files, string(f.Design().Format()))
			labels = append(labels, f.Undoable())
			require.NotEmpty(t, f.Undoable())
		}
		last := len(designs) - 1
		require.Equal(t, last > 0, f.Changed())
		for i := last; i > 0; i-- {
			label, ok := f.Undo()
			require.True(t, ok)
			require.Equal(t, labels[i], label)
			require.Equal(t, designs[i-1], f.Design())
		}
		_, ok := f.Undo()
		require.False(t, ok)
		require.False(t, f.Changed())
		for i := 1; i <= last; i++ {
			label, ok := f.Redo()
			require.True(t, ok)
			require.Equal(t, labels[i], label)
			require.Equal(t, designs[i], f.Design())
		}
		for i, d := range designs {
			require.Equal(t, files[i], string(d.Format()), "design %d was changed after it was out", i)
		}
	})
}

// unfinished is what an edit may leave for the maker to finish; every other
// fault would be the edit's.
func unfinished(f model.Fault) bool {
	for _, s := range []string{
		"back leads out of a performing state", "defer waits for a routine's end", // another kind of state
		"no state is dormant", "are dormant and none is marked start", "is marked start", // another kind of state
		"is not above min", "is outside of the travel", "is outside of its travel", "are both", // one end of a range at a time
		"is shorter than the cues", "repeats but takes no time", "lasts a day or longer", // a routine's length
		"leads nowhere", "cannot be deferred", "has a target and ignores", "asks something of outputs", // a key taken away
		"has no period", "comes after last", "does not fire", "is out of range", // a strip's effect and its pixels
		"sets the volume and stops", "asks nothing of the sound board", "trigger pins only", "the volume of a board", // a sound board's cue, and another chip
		"has no message", "has no send", "does not say which message", "cannot play a track", `there is no message "`, "has no track", "has no output",
		"has no value such as", "a switch is not set to", // how a track is stopped, which its output decides
		"has neither output nor track", "drifts twice", "cannot drift", "has nothing to hold",
		"has no state", "has no button",
	} {
		if strings.Contains(f.Wrong, s) {
			return true
		}
	}
	return false
}

// After any edits the file says what the design says; its faults are such as
// an unfinished design has.
func TestEditsLeaveAFileThatReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := edit.New(expanded.Design(t))
		for range rapid.IntRange(1, 10).Draw(t, "edits") {
			_ = drawEdit(t, f) // refused or not: TestUndoGivesBackEveryDesign
		}
		text := f.Design().Format()
		again, err := model.Read(f.Design().File, text)
		if err != nil {
			for _, fault := range err.(model.Faults) {
				require.True(t, unfinished(fault), "%v\n%s", fault, text)
			}
		}
		require.NotNil(t, again, "%s", text)
		require.Equal(t, string(text), string(again.Format()))
		if err == nil {
			require.Equal(t, plain(f.Design()), plain(again), "%s", text)
		}
	})
}

// plain is a design in words, without places, comments and the like.
func plain(d *model.Design) string {
	var b strings.Builder
	for _, e := range elems(d) {
		fmt.Fprintln(&b, e.Sort, d.Name(e))
		for _, kv := range d.Keys(e) {
			value := kv.Value
			if value == "" {
				value = kv.Default
			}
			fmt.Fprintf(&b, "  %s = %s\n", kv.Key, value)
		}
	}
	return b.String()
}

// What an inspector shows can be typed back, and says the same.
func TestShownValuesCanBeTyped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := expanded.Design(t)
		for _, e := range elems(d) {
			keys := d.Keys(e)
			for _, kv := range keys {
				if kv.Value == "" {
					continue
				}
				n, err := d.With(e, kv.Key, kv.Value)
				require.NoError(t, err, "%s of %s: %q", kv.Key, d.Title(e), kv.Value)
				require.Equal(t, kv.Value, n.Value(e, kv.Key))
				require.Equal(t, keys, n.Keys(e), "%s of %s: %q", kv.Key, d.Title(e), kv.Value)
			}
		}
	})
}

// expanded are designs of the usual size, with outputs on expanders.
var expanded = func() random.Size {
	size := random.Usual
	size.Expander = true
	return size
}()
