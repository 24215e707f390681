package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"propwright/model"
)

// A File is the file of one design in an editor, with its journal. Its
// methods belong to one goroutine.
type File struct {
	name   string
	keep   *keeper
	unread model.Faults
}

// ChangedError is the error of saving over a file that another hand has
// changed since it was opened or saved last. Nothing has been written.
type ChangedError struct{ File string }

func (e *ChangedError) Error() string {
	return fmt.Sprintf("%s was changed by another program after it was read here; nothing has been overwritten", e.File)
}

// Open reads a design file. It may return a File together with an error of type
// model.Faults: an unfinished design can be saved, so it can be opened. With any other
// error there is no File; the error says why the file cannot be read or is not a design
// of this format.
func Open(name string) (*File, *model.Design, error) {
	base, err := digest(name) // first: a change between the two must not go unnoticed
	if err != nil {
		return nil, nil, err
	}
	d, unread, err := load(name)
	if d == nil {
		return nil, nil, err
	}
	return &File{name, newKeeper(name, base), unread}, d, err
}

// Create makes the File of a design that is in none yet. It is an error if
// the file is there; nothing is written before Save or Record.
func Create(name string) (*File, error) {
	if _, err := os.Lstat(name); err == nil {
		return nil, fmt.Errorf("%s is there already; choose another name", name)
	} else if !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return &File{name, newKeeper(name, sum{}), nil}, nil
}

// Name returns the file's name.
func (f *File) Name() string { return f.name }

// Unread returns what could not be read when the file was opened or reloaded, and
// so is not in the design: the next save leaves it out.
func (f *File) Unread() model.Faults { return f.unread }

// Changed reports whether another program has changed the file since it was last opened
// or saved. A removed file counts as unchanged: saving creates it again.
func (f *File) Changed() (bool, error) {
	f.keep.disk.Lock()
	defer f.keep.disk.Unlock()
	now, err := digest(f.name)
	return now != f.keep.base && now != (sum{}), err
}

// Save writes the design to the file, whole or not at all, and removes the
// journal. Where the file was changed by another hand the error is a
// *ChangedError, unless the file says what is to be saved anyway.
func (f *File) Save(d *model.Design) error { return f.save(d, false) }

// Overwrite is Save, also over the changes of another program.
func (f *File) Overwrite(d *model.Design) error { return f.save(d, true) }

func (f *File) save(d *model.Design, over bool) error {
	f.keep.disk.Lock()
	defer f.keep.disk.Unlock()
	text := d.Format()
	now, err := digest(f.name)
	if err != nil {
		return err
	}
	if !over && now != (sum{}) && now != f.keep.base && now != sumOf(text) {
		return &ChangedError{f.name}
	}
	// The journal gets the design first, so that after a crash in between there is
	// nothing to recover.
	if _, err := os.Lstat(JournalName(f.name)); err == nil {
		if err := write(f.name, f.keep.base, text); err != nil {
			return fmt.Errorf("the journal for recovery cannot be written: %w", err)
		}
	}
	if err := d.Save(f.name); err != nil {
		return err
	}
	f.keep.base, f.unread = sumOf(text), nil
	f.keep.settled()
	return Discard(f.name)
}

// Reload reads the file as it is now; that counts as opened, and the journal
// goes.
func (f *File) Reload() (*model.Design, error) {
	f.keep.disk.Lock()
	defer f.keep.disk.Unlock()
	base, err := digest(f.name)
	if err != nil {
		return nil, err
	}
	d, unread, err := load(f.name)
	if d == nil {
		return nil, err
	}
	f.keep.base, f.unread = base, unread
	f.keep.settled()
	return d, errors.Join(err, Discard(f.name))
}

// Record hands the design to the journal after an edit. It returns at once; the design
// is on the disk a moment later. It must not be changed from then on.
func (f *File) Record(d *model.Design) { f.keep.hand(d) }

// Forget removes the journal: the design is again as the file has it.
func (f *File) Forget() { f.keep.hand(nil) }

// Trouble returns the error of the last write of the journal, or nil. With an error, a
// crash would lose the edits.
func (f *File) Trouble() error { return f.keep.trouble() }

// Leave ends the work and keeps the journal, with all that was handed to it.
func (f *File) Leave() error {
	f.keep.stop()
	f.keep.write()
	return f.Trouble()
}

// Close ends the work on the file and removes the journal, and with it unsaved edits.
func (f *File) Close() error {
	f.keep.stop()
	return Discard(f.name)
}
