package editor

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"propwright/model"
	"propwright/model/edit"
)

// A desk is a design file being worked on: the draft, the file it goes to and
// what is known of that file.
type desk struct {
	file  string // "": it has no file yet
	draft *edit.Draft
	disk  [sha256.Size]byte // of the file's text as last read or written
	known bool              // there is such a text
}

// openDesk reads a design file.
func openDesk(file string) (*desk, error) {
	d, err := model.Load(file)
	if err != nil {
		return nil, err
	}
	k := &desk{file: file, draft: edit.New(d)}
	k.disk, k.known = fileSum(file)
	return k, nil
}

func fileSum(file string) (sum [sha256.Size]byte, ok bool) {
	text, err := os.ReadFile(file)
	return sha256.Sum256(text), err == nil
}

func (k *desk) design() *model.Design { return k.draft.Design() }
func (k *desk) changed() bool         { return k.draft.Changed() || k.file == "" }

// title is the file's name as the top line shows it.
func (k *desk) title() string {
	if k.file == "" {
		return "no file yet"
	}
	return filepath.Base(k.file)
}

// errOtherHand is the error of a save over a file that another program has
// changed since it was read.
var errOtherHand = errors.New("the file was changed on disk in the meantime")

// save writes the design to its file, whole or not at all. A file that was
// changed by another hand is not touched unless over is set.
func (k *desk) save(over bool) error {
	if k.touched() && !over {
		return errOtherHand
	}
	return k.write(k.file)
}

// saveAs writes the design to another file, which becomes its own. One that
// is there already is not overwritten.
func (k *desk) saveAs(file string) error {
	if _, err := os.Lstat(file); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s is there already; choose another name", file)
	}
	return k.write(file)
}

func (k *desk) write(file string) error {
	revision := k.draft.Revision()
	if err := k.design().Save(file); err != nil {
		return err
	}
	k.file = file
	k.disk, k.known = sha256.Sum256(k.design().Format()), true
	k.draft.Saved(revision)
	return nil
}

// touched reports whether the file on disk is another than the one last read
// or written. A file that is gone counts as untouched: saving makes it anew.
func (k *desk) touched() bool {
	text, err := os.ReadFile(k.file)
	if err != nil {
		return false
	}
	sum := sha256.Sum256(text)
	return (!k.known || !bytes.Equal(sum[:], k.disk[:])) && !bytes.Equal(text, k.design().Format())
}

// reload puts the file's design in place of the draft's, as one edit.
func (k *desk) reload() error {
	d, err := model.Load(k.file)
	if err != nil {
		return err
	}
	k.draft.Replace("take the file from disk", d)
	k.draft.Saved(k.draft.Revision())
	k.disk, k.known = fileSum(k.file)
	return nil
}
