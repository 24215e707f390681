package editor

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"propwright/cmd/propwright/store"
	"propwright/model"
	"propwright/model/edit"
)

// A desk is a design being worked on: the draft and the file it goes to.
type desk struct {
	draft *edit.Draft
	file  *store.File // nil: it has none yet
	lock  *store.Lock // of the file
	fresh bool        // it has never been in its file
	told  string      // what look has found, for the top line
}

// openDesk reads a design file. One with faults is opened too: the findings
// list them.
func openDesk(name string) (*desk, error) {
	lock, err := store.Acquire(name)
	if err != nil {
		return nil, err
	}
	f, d, err := store.Open(name)
	if d == nil {
		lock.Release()
		return nil, err
	}
	return &desk{draft: edit.New(d), file: f, lock: lock}, nil
}

// newDesk returns a desk for a design that is not in a file yet; name is its file, which
// must not exist.
func newDesk(d *model.Design, name string) (*desk, error) {
	lock, err := store.Acquire(name)
	if err != nil {
		return nil, err
	}
	f, err := store.Create(name)
	if err != nil {
		lock.Release()
		return nil, err
	}
	d.File = name
	k := &desk{draft: edit.New(d), file: f, lock: lock, fresh: true}
	k.record()
	return k, nil
}

// vacant says why a new design cannot have a file name.
func vacant(name string) error {
	if _, err := store.Create(name); err != nil {
		return err
	}
	switch lost, err := store.Recover(name); {
	case err != nil:
		return err
	case lost != nil:
		return fmt.Errorf("there is a %s that was never saved; choose another name, or start again and bring it back", name)
	}
	return nil
}

func (k *desk) design() *model.Design { return k.draft.Design() }
func (k *desk) changed() bool         { return k.file != nil && (k.draft.Changed() || k.fresh) }

// unread returns what is in the file but not in the design: a save would lose it.
func (k *desk) unread() model.Faults {
	if k.file == nil {
		return nil
	}
	return k.file.Unread()
}

// title returns the file's name as the top line shows it.
func (k *desk) title() string {
	if k.file == nil {
		return ""
	}
	return filepath.Base(k.file.Name())
}

// record hands the design to the journal.
func (k *desk) record() {
	switch {
	case k.file == nil:
	case k.changed():
		k.file.Record(k.design())
	default:
		k.file.Forget()
	}
}

// gone reports whether the file has been removed.
func (k *desk) gone() bool {
	if k.file == nil || k.fresh {
		return false
	}
	_, err := os.Stat(k.file.Name())
	return errors.Is(err, fs.ErrNotExist)
}

// look reports trouble with the files before it does harm.
func (k *desk) look() {
	k.told = ""
	if k.file == nil {
		return
	}
	switch changed, err := k.file.Changed(); {
	case k.gone():
		k.told = "THE FILE IS GONE: Ctrl-S writes it"
	case err != nil:
		k.told = "THE FILE CANNOT BE READ"
	case changed:
		k.told = "CHANGED ON DISK: Ctrl-S asks"
	case k.file.Trouble() != nil:
		k.told = "NO JOURNAL: save often"
	}
}

// save writes the design to its file. If another program has changed the file, the error
// is a *store.ChangedError, unless over is set.
func (k *desk) save(over bool) error {
	write := k.file.Save
	if over {
		write = k.file.Overwrite
	}
	if err := write(k.design()); err != nil {
		return err
	}
	k.fresh = false
	k.draft.Saved(k.draft.Revision())
	return nil
}

// saveAs writes the design to another file, which becomes its own. It does not overwrite
// an existing file.
func (k *desk) saveAs(name string) error {
	if err := vacant(name); err != nil {
		return err
	}
	lock, err := store.Acquire(name)
	if err != nil {
		return err
	}
	f, err := store.Create(name)
	if err == nil {
		err = f.Save(k.design())
	}
	if err != nil {
		lock.Release()
		return err
	}
	err = k.close()
	k.file, k.lock, k.fresh = f, lock, false
	k.draft.Saved(k.draft.Revision())
	return err
}

// reload replaces the draft's design by the file's, as one edit.
func (k *desk) reload() error {
	d, err := k.file.Reload()
	if d == nil {
		return err
	}
	k.draft.Replace("take the file from disk", d)
	k.draft.Saved(k.draft.Revision())
	return nil
}

// close ends the work and drops what is not saved.
func (k *desk) close() error {
	if k.file == nil {
		return nil
	}
	defer k.lock.Release()
	return k.file.Close()
}

// leave ends the work; the journal keeps what is not saved.
func (k *desk) leave() error {
	if k.file == nil {
		return nil
	}
	defer k.lock.Release()
	return k.file.Leave()
}

// beside returns a file's name as the design's folder has it.
func (k *desk) beside(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(k.file.Name()), name)
}
