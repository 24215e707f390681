package soundfile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"sync"
	"time"

	"github.com/hajimehoshi/go-mp3"
)

// Window is the time for which one loudness is given.
const Window = 20 * time.Millisecond

const windows = int64(time.Second / Window) // a second

// garbled is a sampling rate, in Hz, of which the decoder takes some frames for a byte
// too short or too long, were they not repacked.
const garbled = 22050

// longestLoudness is for how long a file's loudness is given; see meter.
const longestLoudness = time.Hour

// Loudness is how loud a file is, Window by Window: the root of the mean square (RMS) of
// the samples of all channels, 1 being full scale. The last window is what is left.
//
// A file is decoded once, and again when its size or its time has changed. WAV files of
// plain samples are known, and MP3 files of 16 kHz and more. The error wraps that of the
// file system, or ErrFormat.
func Loudness(name string) ([]float64, error) {
	f, info, form, err := open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	key := decodedFile{name, info.Size(), info.ModTime()}
	decoded.Lock()
	defer decoded.Unlock()
	if known, ok := decoded.files[key]; ok {
		return known.loudness, known.err
	}
	if len(decoded.files) >= mostDecoded {
		clear(decoded.files)
	}
	loudness, err := form.loudness(f, info.Size())
	decoded.files[key] = heard{loudness, err}
	return loudness, err
}

// What has been decoded.
type (
	decodedFile struct {
		name     string
		size     int64
		modified time.Time
	}
	heard struct {
		loudness []float64
		err      error
	}
)

const mostDecoded = 100

var decoded = struct {
	sync.Mutex
	files map[decodedFile]heard
}{files: map[decodedFile]heard{}}

// A meter measures loudness. Samples of all channels are added, then next is called.
// A window ends with the last sample that begins in it.
type meter struct {
	rate     int64 // frames of samples a second
	frames   int64 // so far
	sum      float64
	n        int // samples in the sum
	loudness []float64
}

func (m *meter) add(sample float64) {
	m.sum += sample * sample
	m.n++
}

func (m *meter) next() error {
	m.frames++
	if m.frames*windows >= int64(len(m.loudness)+1)*m.rate {
		m.end()
	}
	if time.Duration(len(m.loudness))*Window > longestLoudness {
		return fmt.Errorf("it plays for more than %.0f hour", longestLoudness.Hours())
	}
	return nil
}

func (m *meter) end() {
	m.loudness = append(m.loudness, math.Sqrt(m.sum/float64(m.n)))
	m.sum, m.n = 0, 0
}

func (m *meter) done() ([]float64, error) {
	if m.n > 0 {
		m.end()
	}
	if len(m.loudness) == 0 {
		return nil, errors.New("it holds no sound")
	}
	return m.loudness, nil
}

// mp3Loudness is how loud an MP3 file is. The decoder gives two channels of 16 bits,
// also of a file that has one. It is not proof against broken files: a panic of its is
// the file's fault.
func mp3Loudness(r io.ReadSeeker, size int64) (loudness []float64, err error) {
	if size > largestMP3 {
		return nil, errLarge
	}
	defer func() {
		if p := recover(); p != nil {
			loudness, err = nil, fmt.Errorf("it is broken: %v", p)
		}
	}()
	first := newFrameReader(r)
	first.next()
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	in, packed := io.Reader(r), &repacker{}
	if first.header.rate == garbled {
		packed.frameReader = newFrameReader(r)
		in = packed
	}
	refuse := func(err error) ([]float64, error) {
		return nil, fmt.Errorf("it cannot be decoded (%w): save it as WAV, or as MP3 of 44.1 kHz", err)
	}
	d, err := mp3.NewDecoder(in)
	if err != nil {
		return refuse(err)
	}
	m := meter{rate: int64(d.SampleRate())}
	var frame [4]byte
	for {
		if _, err := io.ReadFull(d, frame[:]); err != nil {
			if packed.err != nil {
				return refuse(packed.err)
			}
			return m.done()
		}
		for c := 0; c < len(frame); c += 2 {
			m.add(float64(int16(binary.LittleEndian.Uint16(frame[c:]))) / (1 << 15))
		}
		if err := m.next(); err != nil {
			return nil, err
		}
	}
}
