package store_test

import (
	"errors"
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/store"
	"propwright/model"
)

// noted makes the change of a command: it adds to the prop's note.
func noted(word string) func(*model.Design) (*model.Design, error) {
	return func(d *model.Design) (*model.Design, error) {
		changed := *d
		changed.Prop.Note = strings.TrimSpace(d.Prop.Note + " " + word)
		return &changed, nil
	}
}

func noteIn(t *testing.T, file string) string {
	t.Helper()
	d, err := model.Load(file)
	require.NoError(t, err)
	return d.Prop.Note
}

func TestChange(t *testing.T) {
	f, d := heron(t)
	note(t, d, "one")
	require.NoError(t, f.Save(d.Design()))
	written, err := store.Change(f.Name(), noted("two"))
	require.NoError(t, err)
	require.True(t, written)
	require.Equal(t, "one two", noteIn(t, f.Name()))

	written, err = store.Change(f.Name(), func(d *model.Design) (*model.Design, error) { return d, nil })
	require.NoError(t, err)
	require.False(t, written, "nothing was to be changed")
}

// What another program saves while a change is made is kept: the change is made
// again, to that.
func TestChangeKeepsWhatIsSavedMeanwhile(t *testing.T) {
	f, d := heron(t)
	note(t, d, "mine")
	require.NoError(t, f.Save(d.Design()))
	calls := 0
	_, err := store.Change(f.Name(), func(d *model.Design) (*model.Design, error) {
		if calls++; calls == 1 {
			other, err := noted("theirs")(d)
			require.NoError(t, err)
			require.NoError(t, other.Save(f.Name()))
		}
		return noted("changed")(d)
	})
	require.NoError(t, err)
	require.Equal(t, 2, calls)
	require.Equal(t, "mine theirs changed", noteIn(t, f.Name()))
}

func TestChangeGivesUp(t *testing.T) {
	f, d := heron(t)
	require.NoError(t, f.Save(d.Design()))

	// A change that is refused writes nothing.
	before, err := os.ReadFile(f.Name())
	require.NoError(t, err)
	refused := errors.New("refused")
	_, err = store.Change(f.Name(), func(*model.Design) (*model.Design, error) { return nil, refused })
	require.ErrorIs(t, err, refused)
	after, err := os.ReadFile(f.Name())
	require.NoError(t, err)
	require.Equal(t, before, after)

	// An editor has the file.
	lock, err := store.Acquire(f.Name())
	require.NoError(t, err)
	_, err = store.Change(f.Name(), noted("x"))
	require.ErrorContains(t, err, "is open in another editor")
	lock.Release()

	// The file is gone: it is not written anew.
	require.NoError(t, os.Remove(f.Name()))
	_, err = store.Change(f.Name(), noted("x"))
	var gone *store.GoneError
	require.ErrorAs(t, err, &gone)
	require.NoFileExists(t, f.Name())
}

// A design that could not be read again is not written.
func TestSizeIsJudgedBeforeSaving(t *testing.T) {
	f, d := heron(t)
	require.NoError(t, f.Save(d.Design()))
	_, err := store.Change(f.Name(), noted(strings.Repeat("a", model.MaxFileSize)))
	var large *model.TooLargeError
	require.ErrorAs(t, err, &large)
	_, err = model.Load(f.Name())
	require.NoError(t, err)
}

// Commands that change a file at the same time wait for each other: no change
// is lost. On a busy computer one may not get its turn in the moment that it waits;
// it is told so, and called again.
func TestChangesAtTheSameTime(t *testing.T) {
	f, d := heron(t)
	note(t, d, "")
	require.NoError(t, f.Save(d.Design()))
	const each, commands = 5, 4
	var group sync.WaitGroup
	for range commands {
		group.Go(func() {
			for range each {
				var busy *store.BusyError
				_, err := store.Change(f.Name(), noted("x"))
				for errors.As(err, &busy) {
					_, err = store.Change(f.Name(), noted("x"))
				}
				assert.NoError(t, err)
			}
		})
	}
	group.Wait()
	require.Len(t, strings.Fields(noteIn(t, f.Name())), each*commands)
}
