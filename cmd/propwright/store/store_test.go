package store_test

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"testing"
	"time"

	"propwright/cmd/propwright/store"
	"propwright/model"
	"propwright/model/designs"
	"propwright/model/edit"

	"github.com/stretchr/testify/require"
)

// heron writes the demo design into a folder of its own and opens it.
func heron(t testing.TB) (*store.File, *edit.Draft) {
	name := filepath.Join(t.TempDir(), "heron.prop.toml")
	require.NoError(t, os.WriteFile(name, designs.HarbourHeron, 0o666))
	return open(t, name)
}

func open(t testing.TB, name string) (*store.File, *edit.Draft) {
	f, d, err := store.Open(name)
	require.NoError(t, err)
	return f, edit.New(d)
}

func note(t *testing.T, d *edit.Draft, text string) {
	require.NoError(t, d.Set(model.Elem{Sort: model.SortProp}, "note", text))
}

func onDisk(t *testing.T, name string) *model.Design {
	d, err := model.Load(name)
	require.NoError(t, err)
	return d
}

func TestSaveWritesTheDesign(t *testing.T) {
	f, d := heron(t)
	note(t, d, "saved")
	require.NoError(t, f.Save(d.Design()))
	require.Equal(t, "saved", onDisk(t, f.Name()).Prop.Note)
	note(t, d, "saved again")
	require.NoError(t, f.Save(d.Design()))
	require.Equal(t, "saved again", onDisk(t, f.Name()).Prop.Note)
}

func TestSaveNeverOverwritesAnotherHand(t *testing.T) {
	f, d := heron(t)
	note(t, d, "mine")
	theirs := append([]byte("# theirs\n"), designs.HarbourHeron...)
	require.NoError(t, os.WriteFile(f.Name(), theirs, 0o666))

	changed, err := f.Changed()
	require.NoError(t, err)
	require.True(t, changed)
	var other *store.ChangedError
	require.ErrorAs(t, f.Save(d.Design()), &other)
	require.Equal(t, f.Name(), other.File)
	text, err := os.ReadFile(f.Name())
	require.NoError(t, err)
	require.Equal(t, string(theirs), string(text))

	require.NoError(t, f.Overwrite(d.Design()))
	require.Equal(t, "mine", onDisk(t, f.Name()).Prop.Note)
	changed, err = f.Changed()
	require.NoError(t, err)
	require.False(t, changed)
	require.NoError(t, f.Save(d.Design()))
}

// The time and the size of the file may be what they were: its text counts.
func TestAnotherHandOfTheSameSizeAndTime(t *testing.T) {
	f, d := heron(t)
	info, err := os.Stat(f.Name())
	require.NoError(t, err)
	text, err := os.ReadFile(f.Name())
	require.NoError(t, err)
	text[3] ^= 0x01 // in the comment at the top
	require.NoError(t, os.WriteFile(f.Name(), text, 0o666))
	require.NoError(t, os.Chtimes(f.Name(), info.ModTime(), info.ModTime()))
	var other *store.ChangedError
	require.ErrorAs(t, f.Save(d.Design()), &other)
}

func TestSaveMakesAFileThatIsGone(t *testing.T) {
	f, d := heron(t)
	require.NoError(t, os.Remove(f.Name()))
	require.NoError(t, f.Save(d.Design()))
	onDisk(t, f.Name())
}

func TestReloadTakesTheOtherHand(t *testing.T) {
	f, d := heron(t)
	theirs := edit.New(d.Design())
	note(t, theirs, "theirs")
	require.NoError(t, theirs.Design().Save(f.Name()))
	now, err := f.Reload()
	require.NoError(t, err)
	require.Equal(t, "theirs", now.Prop.Note)
	require.NoError(t, f.Save(now))
}

func TestCreateLeavesFilesAlone(t *testing.T) {
	f, _ := heron(t)
	_, err := store.Create(f.Name())
	require.ErrorContains(t, err, "is there already")
	name := filepath.Join(t.TempDir(), "new.prop.toml")
	n, err := store.Create(name)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(name, designs.HarbourHeron, 0o666)) // somebody was quicker
	var other *store.ChangedError
	require.ErrorAs(t, n.Save(&model.Design{}), &other)
}

func TestOpenTakesAnUnfinishedDesign(t *testing.T) {
	name := filepath.Join(t.TempDir(), "bud.prop.toml")
	require.NoError(t, os.WriteFile(name, []byte("format = 1\n[prop]\nname = \"bud\"\n"), 0o666))
	f, d, err := store.Open(name)
	var faults model.Faults
	require.ErrorAs(t, err, &faults)
	require.NotNil(t, f)
	require.Equal(t, "bud", d.Prop.Name)
	require.NoError(t, os.WriteFile(name, []byte("not = [a design"), 0o666))
	f, d, err = store.Open(name)
	require.ErrorAs(t, err, &faults)
	require.Nil(t, f)
	require.Nil(t, d)
	_, _, err = store.Open(filepath.Join(t.TempDir(), "nowhere.prop.toml"))
	require.ErrorIs(t, err, os.ErrNotExist)
}

// A file of another format, of which nothing is read, is not an empty design.
func TestOpenRefusesAnotherFormat(t *testing.T) {
	name := filepath.Join(t.TempDir(), "later.prop.toml")
	require.NoError(t, os.WriteFile(name, []byte("format = 2\n[prop]\nname = \"later\"\n"), 0o666))
	f, d, err := store.Open(name)
	require.ErrorContains(t, err, "format 2 is not known")
	require.Nil(t, f)
	require.Nil(t, d)
}

// What a save would leave out is told; what is only missing is not.
func TestUnread(t *testing.T) {
	name := filepath.Join(t.TempDir(), "bud.prop.toml")
	for _, c := range []struct {
		text string
		want []string
	}{
		{"format = 1\n[prop]\nname = \"bud\"\n", nil},
		{"[prop]\nname = \"bud\"\n", nil},
		{"format = 1\n[prop]\nname = \"bud\"\n[[state]]\nname = \"a\"\nkind = \"asleep\"\n", nil}, // the word stays
		{"format = 1\n[prop]\nname = \"bud\"\nseed = \"one\"\n[[state]]\nname = \"a\"\nover = 3\n", []string{"whole number", "no unit"}},
		{"format = 1\n[prop]\nname = \"bud\"\nsize = 3\n[weather]\nwind = 3\n", []string{`no key "size"`, `a design has no "weather"`}},
	} {
		require.NoError(t, os.WriteFile(name, []byte(c.text), 0o666))
		f, d, err := store.Open(name)
		require.Error(t, err)
		require.Len(t, f.Unread(), len(c.want), "%s%v\n%v", c.text, err, f.Unread())
		for i, fault := range f.Unread() {
			require.Contains(t, fault.Wrong, c.want[i])
		}
		require.NoError(t, f.Save(d))
		require.Empty(t, f.Unread())
	}
	f, _ := heron(t)
	require.Empty(t, f.Unread())
}

// recovered waits until the journal offers a design with the note.
func recovered(t *testing.T, file, note string) *store.Recovery {
	var r *store.Recovery
	require.Eventually(t, func() bool {
		var err error
		r, err = store.Recover(file)
		require.NoError(t, err)
		return r != nil && r.Design.Prop.Note == note
	}, 10*time.Second, 5*time.Millisecond)
	return r
}

func TestJournalOffersWhatWasNotSaved(t *testing.T) {
	f, d := heron(t)
	r, err := store.Recover(f.Name())
	require.NoError(t, err)
	require.Nil(t, r)

	for _, text := range []string{"one", "two", "three"} {
		note(t, d, text)
		f.Record(d.Design())
	}
	r = recovered(t, f.Name(), "three")
	require.False(t, r.Moved)
	require.WithinDuration(t, time.Now(), r.At, 10*time.Second)
	require.Equal(t, string(d.Design().Format()), string(r.Design.Format()))
	require.NoError(t, f.Trouble())

	// The file goes on meanwhile.
	require.NoError(t, os.WriteFile(f.Name(), append([]byte("# theirs\n"), designs.HarbourHeron...), 0o666))
	require.True(t, recovered(t, f.Name(), "three").Moved)
}

// A crash after the file was saved and before the journal went.
func TestJournalThatSaysWhatTheFileSaysIsNoOffer(t *testing.T) {
	f, d := heron(t)
	note(t, d, "x")
	f.Record(d.Design())
	recovered(t, f.Name(), "x")
	require.NoError(t, d.Design().Save(f.Name()))
	require.FileExists(t, store.JournalName(f.Name()))
	r, err := store.Recover(f.Name())
	require.NoError(t, err)
	require.Nil(t, r)
}

func TestJournalIsRemovedWhenNothingIsUnsaved(t *testing.T) {
	for name, end := range map[string]func(*store.File, *edit.Draft) error{
		"saved":  func(f *store.File, d *edit.Draft) error { return f.Save(d.Design()) },
		"quit":   func(f *store.File, d *edit.Draft) error { return f.Close() },
		"undone": func(f *store.File, d *edit.Draft) error { f.Forget(); return nil },
	} {
		t.Run(name, func(t *testing.T) {
			f, d := heron(t)
			note(t, d, "x")
			f.Record(d.Design())
			recovered(t, f.Name(), "x")
			require.NoError(t, end(f, d))
			require.Eventually(t, func() bool {
				_, err := os.Lstat(store.JournalName(f.Name()))
				return errors.Is(err, os.ErrNotExist)
			}, 10*time.Second, 5*time.Millisecond)
			entries, err := os.ReadDir(filepath.Dir(f.Name()))
			require.NoError(t, err)
			require.Len(t, entries, 1, "something was left behind")
		})
	}
}

var cuts = flag.Int("cuts", 17, "how many bytes apart a journal is cut short; 1: everywhere")

// A journal that is cut short, or has a byte changed, is not an offer. The lines before
// the design's text are cut everywhere; in the text one place is as good as the other.
func TestTornJournalIsNotTaken(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	f, d := heron(t)
	note(t, d, "x")
	f.Record(d.Design())
	recovered(t, f.Name(), "x")
	journal, err := os.ReadFile(store.JournalName(f.Name()))
	require.NoError(t, err)
	for n := 0; n < len(journal); n++ {
		if n > 300 && n < len(journal)-1 && n%*cuts != 0 {
			continue
		}
		require.NoError(t, os.WriteFile(store.JournalName(f.Name()), journal[:n], 0o666))
		r, err := store.Recover(f.Name())
		require.NoError(t, err)
		require.NotNil(t, r, "cut after %d bytes", n)
		require.Nil(t, r.Design, "cut after %d bytes", n)
	}
	for n := 200; n < len(journal); n += 97 {
		torn := append([]byte(nil), journal...)
		torn[n] ^= 0x20
		require.NoError(t, os.WriteFile(store.JournalName(f.Name()), torn, 0o666))
		r, err := store.Recover(f.Name())
		require.NoError(t, err)
		require.NotNil(t, r, "byte %d", n)
		require.Nil(t, r.Design, "byte %d", n)
	}
	kept, err := store.SetAside(f.Name())
	require.NoError(t, err)
	require.FileExists(t, kept)
	require.NoError(t, f.Close())
	require.FileExists(t, kept, "closing removes the journal only")
}

func TestTroubleIsTold(t *testing.T) {
	f, d := heron(t)
	inTheWay := filepath.Join(store.JournalName(f.Name())+".new", "a folder that is not empty")
	require.NoError(t, os.MkdirAll(inTheWay, 0o777))
	note(t, d, "x")
	f.Record(d.Design())
	require.Eventually(t, func() bool { return f.Trouble() != nil }, 10*time.Second, 5*time.Millisecond)
	require.ErrorContains(t, f.Trouble(), "the journal for recovery cannot be written")
}

// Handing over costs no more than a moment, however large the design.
func BenchmarkRecord(b *testing.B) {
	f, d := heron(b)
	defer f.Close()
	var worst time.Duration
	for b.Loop() {
		start := time.Now()
		f.Record(d.Design())
		worst = max(worst, time.Since(start))
	}
	b.ReportMetric(float64(worst.Nanoseconds()), "worst-ns")
}

// What has the name of the file that becomes the journal is not written to.
func TestJournalFollowsNoLink(t *testing.T) {
	f, d := heron(t)
	other := filepath.Join(t.TempDir(), "letter.txt")
	require.NoError(t, os.WriteFile(other, []byte("dear"), 0o666))
	require.NoError(t, os.Symlink(other, store.JournalName(f.Name())+".new"))
	note(t, d, "x")
	f.Record(d.Design())
	recovered(t, f.Name(), "x")
	text, err := os.ReadFile(other)
	require.NoError(t, err)
	require.Equal(t, "dear", string(text))
}

// Leaving writes what was handed over a moment ago.
func TestLeaveKeepsTheLastEdit(t *testing.T) {
	f, d := heron(t)
	for _, text := range []string{"x", "y", "z"} {
		note(t, d, text)
		f.Record(d.Design())
	}
	require.NoError(t, f.Leave())
	r, err := store.Recover(f.Name())
	require.NoError(t, err)
	require.Equal(t, "z", r.Design.Prop.Note)
}
