package model

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"propwright/model/tomltree"
)

// Every key says what it is for, what it may hold and an example, which its
// own codec reads.
func TestEveryKeyHasAnExampleThatCanBeRead(t *testing.T) {
	for _, row := range sorts {
		require.True(t, slices.ContainsFunc(Schema(), func(k KeyDoc) bool { return k.Sort == row.sort }), row.sort)
	}
	for _, k := range Schema() {
		what := string(k.Sort) + "." + k.Key
		require.NotEmpty(t, k.Meaning, what)
		require.NotEmpty(t, k.Holds, what)
		v := tomltree.ParseValue(k.Example)
		require.NotNil(t, v, "%s = %s", what, k.Example)
		kinds := k.Kinds
		if kinds == nil {
			kinds = OutputKinds
		}
		i := slices.IndexFunc(kinds, func(kind OutputKind) bool { return specimen(kind).Has(k.Sort.At(0, 0)) })
		d := specimen(kinds[i])
		d.Remote.Buttons[0].Name, d.Tracks[0].Name, d.Routines[0].Name, d.States[0].Name = "BUTTON", "TRACK", "ROUTINE", "STATE"
		for i := range d.Outputs[0].Messages {
			d.Outputs[0].Messages[i].Name = "MESSAGE"
		}
		d.Outputs = append(d.Outputs, Output{Name: "OUTPUT", Kind: map[bool]OutputKind{false: KindServo, true: KindPulse}[k.Sort == SortTrack]})
		r := &reader{design: d}
		fields := d.fieldsAt(k.Sort.At(0, 0), r)
		for _, f := range fields {
			if f.key == k.Key {
				f.read(r, v)
				require.Empty(t, r.faults, "%s = %s", what, k.Example)
			}
		}
	}
}

// What can be chosen can be written.
func TestEveryChoiceCanBeTaken(t *testing.T) {
	for _, kind := range OutputKinds {
		d := specimen(kind)
		d.Remote.Buttons[0].Name, d.Inputs[0].Name, d.Tracks[0].Name = "button", "input", "track"
		d.Routines[0].Name, d.States[0].Name = "routine", "state"
		for i := range d.Outputs[0].Messages {
			d.Outputs[0].Messages[i].Name = "message"
		}
		taken := map[Sort]int{}
		for _, row := range sorts {
			e := row.sort.At(0, 0)
			for _, kv := range d.Keys(e) {
				for _, choice := range kv.Choices {
					_, err := d.With(e, kv.Key, choice)
					require.NoError(t, err, "%s of %s: %s", kv.Key, row.sort, choice)
					taken[row.sort]++
				}
			}
		}
		require.Greater(t, taken[SortTransition], 10)
	}
}
