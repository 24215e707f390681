package avr

import (
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/google/renameio/v2/maybe"
)

// A cache keeps a file in a folder of the user's. The name is prefix, which
// says what the file was made from, and the digest of what is in it, so that a
// file that was emptied or changed is not taken.
type cache struct {
	dir, prefix string // no dir: nothing is kept
}

// find returns the file if it is unchanged, and removes others with the prefix.
func (c cache) find() (file string, ok bool) {
	entries, err := os.ReadDir(c.dir)
	if err != nil {
		return "", false
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), c.prefix) || !e.Type().IsRegular() {
			continue
		}
		file := filepath.Join(c.dir, e.Name())
		text, err := os.ReadFile(file)
		if err == nil && e.Name() == c.name(text) {
			return file, true
		}
		os.Remove(file)
	}
	return "", false
}

// keep keeps a copy of a file. It reports no failure: the file will be made again.
func (c cache) keep(file string) {
	text, err := os.ReadFile(file)
	if err != nil || c.dir == "" || os.MkdirAll(c.dir, 0o700) != nil {
		return
	}
	maybe.WriteFile(filepath.Join(c.dir, c.name(text)), text, 0o600)
}

func (c cache) name(text []byte) string {
	return fmt.Sprintf("%s%x.a", c.prefix, sha256.Sum256(text))
}
