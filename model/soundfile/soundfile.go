// Package soundfile tells how long a sound file plays, by its headers: WAV and MP3,
// which are what sound boards take.
//
// It refuses to know what a sound is for. Libraries were tried in its place: of those
// in pure Go one counted a WAV file's headers as sound, one ended in a panic on broken
// MP3 files and refused low sampling rates.
package soundfile

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// ErrFormat is that a file's name ends in none of the formats that are known.
var ErrFormat = errors.New("neither a WAV nor an MP3 file")

// Length is how long a file plays. Its name tells the format. The error wraps that of
// the file system, or ErrFormat.
func Length(name string) (time.Duration, error) {
	var length func(r io.ReadSeeker, size int64) (time.Duration, error)
	switch strings.ToLower(filepath.Ext(name)) {
	case ".wav":
		length = wav
	case ".mp3":
		length = mp3
	}
	info, err := os.Stat(name) // before it is opened: a pipe would wait for a writer
	switch {
	case err != nil:
		return 0, err
	case !info.Mode().IsRegular():
		return 0, errors.New("it is not a regular file")
	case length == nil:
		return 0, ErrFormat
	}
	f, err := os.Open(name)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	return length(f, info.Size())
}

// duration is how long samples play, rate of them a second.
func duration(samples, rate int64) (time.Duration, error) {
	const longest = 1000 * time.Hour
	if rate <= 0 {
		return 0, errors.New("its sampling rate is 0")
	}
	if seconds := float64(samples) / float64(rate); seconds > longest.Seconds() {
		return 0, fmt.Errorf("it would play for more than %.0f hours", longest.Hours())
	}
	return time.Duration(float64(samples) / float64(rate) * float64(time.Second)), nil
}
