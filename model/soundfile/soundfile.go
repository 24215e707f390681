// Package soundfile tells of a sound file, WAV or MP3, which are what sound boards take,
// how long it plays and how loud it is from moment to moment.
//
// It refuses to know what a sound is for. Lengths are told by headers. Libraries were
// tried in its place: of those in pure Go one counted a WAV file's headers as sound, one
// ended in a panic on broken MP3 files and refused low sampling rates. The latter decodes
// MP3 files where their loudness is asked for; a WAV file's samples are read as they are.
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

// A container is a kind of sound file.
type container struct {
	length   func(r io.ReadSeeker, size int64) (time.Duration, error)
	loudness func(r io.ReadSeeker, size int64) ([]float64, error)
}

var formats = map[string]*container{
	".wav": {wavLength, wavLoudness},
	".mp3": {mp3Length, mp3Loudness},
}

// Length is how long a file plays. Its name tells the format. The error wraps that of
// the file system, or ErrFormat.
func Length(name string) (time.Duration, error) {
	f, info, form, err := open(name)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	return form.length(f, info.Size())
}

// open opens a sound file.
func open(name string) (*os.File, os.FileInfo, *container, error) {
	form := formats[strings.ToLower(filepath.Ext(name))]
	info, err := os.Stat(name) // before it is opened: a pipe would wait for a writer
	switch {
	case err != nil:
		return nil, nil, nil, err
	case !info.Mode().IsRegular():
		return nil, nil, nil, errors.New("it is not a regular file")
	case form == nil:
		return nil, nil, nil, ErrFormat
	}
	f, err := os.Open(name)
	return f, info, form, err
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
