package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"propwright/model"
)

// A journal is one file with the whole design as it was last seen: below a
// line for people, a line with the digest of the file that the edits began
// from, and one with the length and the digest of the design's text. It is
// written beside and renamed, so what is there is whole; a damaged one, left by
// a computer that lost its power, is set aside and told.
const journalTitle = "propwright: edits that were not saved"

// JournalName returns where a design file's journal is.
func JournalName(file string) string {
	dir, base := filepath.Split(file)
	return dir + "." + base + ".journal"
}

func encode(base sum, text []byte) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s\nbegun from %s\nthese %d bytes %s\n", journalTitle, base, len(text), sumOf(text))
	b.Write(text)
	return b.Bytes()
}

// decode parses a journal; false if it is not one or is damaged.
func decode(data []byte) (base sum, text []byte, ok bool) {
	head, rest, found := bytes.Cut(data, []byte("\n"))
	if !found || string(head) != journalTitle {
		return sum{}, nil, false
	}
	begun, rest, _ := bytes.Cut(rest, []byte("\n"))
	these, text, _ := bytes.Cut(rest, []byte("\n"))
	var from, of string
	var length int
	if n, err := fmt.Sscanf(string(begun), "begun from %s", &from); n != 1 || err != nil {
		return sum{}, nil, false
	}
	if n, err := fmt.Sscanf(string(these), "these %d bytes %s", &length, &of); n != 2 || err != nil {
		return sum{}, nil, false
	}
	return sumFrom(from), text, len(text) == length && sumOf(text).String() == of
}

// A sum is the digest of a text; the zero sum is that of no file.
type sum [sha256.Size]byte

func sumOf(text []byte) sum { return sha256.Sum256(text) }

func (s sum) String() string { return hex.EncodeToString(s[:]) }

// sumFrom reads what String writes. Anything else is the zero sum, which no text has.
func sumFrom(s string) (out sum) {
	b, err := hex.DecodeString(s)
	if err == nil && len(b) == len(out) {
		copy(out[:], b)
	}
	return out
}

// A Recovery is what a journal offers.
type Recovery struct {
	Design *model.Design // with the faults that the maker left in it; nil where the journal is damaged
	At     time.Time     // when it was last written
	// Moved is whether the design file is not the one any more from which the
	// edits began.
	Moved bool
}

// Recover looks for edits of a design file that were never saved: nil where
// there are none, or none that differ from the file. The file itself need not
// be there. The journal stays until Discard, or until a File is closed: see
// SetAside for a damaged one.
func Recover(file string) (*Recovery, error) {
	name := JournalName(file)
	info, err := os.Stat(name)
	if os.IsNotExist(err) {
		return nil, nil
	}
	var data []byte
	if err == nil {
		data, err = model.ReadFile(name, model.MaxFileSize+headRoom)
	}
	if err != nil {
		return nil, fmt.Errorf("the edits that were not saved cannot be read: %w", err)
	}
	base, text, ok := decode(data)
	var d *model.Design
	if ok {
		d, _ = model.Read(file, text)
	}
	if d == nil {
		return &Recovery{At: info.ModTime()}, nil
	}
	disk, err := digest(file)
	if err != nil {
		return nil, err
	}
	if disk == sumOf(text) {
		return nil, nil
	}
	return &Recovery{Design: d, At: info.ModTime(), Moved: disk != base}, nil
}

// headRoom is more bytes than a journal has before the design's text.
const headRoom = 1 << 10

// SetAside renames the damaged journal of a design file, so that Discard leaves
// it, and gives its new name, which nothing had before.
func SetAside(file string) (kept string, err error) {
	name := JournalName(file)
	for n := 1; err == nil; n++ {
		kept = fmt.Sprintf("%s.damaged-%d", name, n)
		if _, err = os.Lstat(kept); os.IsNotExist(err) {
			if err = os.Rename(name, kept); err == nil {
				return kept, nil
			}
		}
	}
	return "", fmt.Errorf("%s is damaged, and cannot be renamed: %w", name, err)
}

// Discard removes a design file's journal.
func Discard(file string) error {
	name := JournalName(file)
	for _, n := range []string{name, name + beside} {
		if err := os.Remove(n); err != nil && !os.IsNotExist(err) {
			return err
		}
	}
	return nil
}

// digest returns the sum of a file's text, the zero sum where there is no file.
func digest(file string) (sum, error) {
	text, err := model.ReadFile(file, model.MaxFileSize)
	if errors.Is(err, fs.ErrNotExist) {
		return sum{}, nil
	}
	if err != nil {
		return sum{}, err
	}
	return sumOf(text), nil
}

// beside ends the name of a journal that is being written. The name is always
// the same, so that a crash leaves one such file at most. What has the name
// already is removed, not written to: it may be a link to somebody's file.
const beside = ".new"

// write writes a journal, on the disk when it returns.
func write(file string, base sum, text []byte) (err error) {
	name := JournalName(file)
	if err := os.Remove(name + beside); err != nil && !os.IsNotExist(err) {
		return err
	}
	f, err := os.OpenFile(name+beside, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(encode(base, text))
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(name+beside, name)
	}
	if err != nil {
		os.Remove(name + beside)
	}
	return err
}
