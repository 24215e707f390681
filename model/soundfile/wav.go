package soundfile

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"time"
)

// mostChunks is how many chunks of a WAV file are looked at; common files have up to
// ten (common practice, no published source).
const mostChunks = 1000

// A recording is what the chunks of a WAV file say.
type recording struct {
	rate, bytesPerSecond   int64
	coding, channels, bits int
	samples                int64 // -1: not said
	data, at               int64 // how many bytes of sound there are, -1: none, and where
}

// Codings of samples.
const (
	integers   = 1
	floats     = 3
	extensible = 0xFFFE // which is said in the format's extension
)

// readWAV reads a RIFF file of form WAVE. Its chunks: "fmt " has the rates, "data" the
// sound, "fact" how many samples there are where it is compressed. Source: IBM,
// Microsoft, "Multimedia Programming Interface and Data Specifications 1.0", 1991,
// "Resource Interchange File Format" and "Waveform Audio File Format"; the extension
// from memory.
func readWAV(r io.ReadSeeker, size int64) (w recording, err error) {
	var head [12]byte
	if _, err := io.ReadFull(r, head[:]); err != nil || string(head[:4]) != "RIFF" || string(head[8:]) != "WAVE" {
		return w, errors.New("it is not a WAV file")
	}
	w.samples, w.data = -1, -1
	at := int64(len(head))
	for range mostChunks {
		var chunk [8]byte
		if _, err := io.ReadFull(r, chunk[:]); err != nil {
			break
		}
		at += int64(len(chunk))
		length := int64(binary.LittleEndian.Uint32(chunk[4:]))
		var body [26]byte
		read := func(n int) error {
			if _, err := io.ReadFull(r, body[:n]); err != nil {
				return errors.New("it ends in its header")
			}
			return nil
		}
		switch string(chunk[:4]) {
		case "fmt ":
			most := len(body)
			if length < int64(most) {
				most = 16
			}
			if err := read(most); err != nil {
				return w, err
			}
			w.coding = int(binary.LittleEndian.Uint16(body[:]))
			w.channels = int(binary.LittleEndian.Uint16(body[2:]))
			w.rate = int64(binary.LittleEndian.Uint32(body[4:]))
			w.bytesPerSecond = int64(binary.LittleEndian.Uint32(body[8:]))
			w.bits = int(binary.LittleEndian.Uint16(body[14:]))
			if w.coding == extensible {
				w.coding = int(binary.LittleEndian.Uint16(body[24:]))
			}
		case "fact":
			if err := read(4); err != nil {
				return w, err
			}
			w.samples = int64(binary.LittleEndian.Uint32(body[:]))
		case "data": // of a recording that was cut off it says more than there is
			w.data, w.at = min(length, size-at), at
		}
		at += length + length%2 // a chunk begins at an even place
		if _, err := r.Seek(at, io.SeekStart); err != nil {
			return w, err
		}
	}
	if w.rate == 0 {
		return w, errors.New("it does not say its sampling rate")
	}
	if w.data < 0 && w.samples < 0 {
		return w, errors.New("it holds no sound")
	}
	return w, nil
}

// wavLength is how long a WAV file plays.
func wavLength(r io.ReadSeeker, size int64) (time.Duration, error) {
	w, err := readWAV(r, size)
	switch {
	case err != nil:
		return 0, err
	case w.data == 0:
		return 0, errors.New("it holds no sound")
	case w.samples >= 0 && (w.data < 0 || w.decoder() == nil): // plain samples are counted: some may be missing
		return duration(w.samples, w.rate)
	}
	return duration(w.data, w.bytesPerSecond)
}

// wavLoudness is how loud a WAV file of plain samples is.
func wavLoudness(r io.ReadSeeker, size int64) ([]float64, error) {
	w, err := readWAV(r, size)
	if err != nil {
		return nil, err
	}
	decode := w.decoder()
	if decode == nil || w.channels == 0 || w.data < 0 {
		return nil, fmt.Errorf("its sound is compressed, or of %d bits a sample: save it as WAV of plain 16-bit samples (PCM), or as MP3", w.bits)
	}
	if _, err := r.Seek(w.at, io.SeekStart); err != nil {
		return nil, err
	}
	in := bufio.NewReaderSize(io.LimitReader(r, w.data), 1<<16)
	m := meter{rate: w.rate}
	frame := make([]byte, w.channels*w.bits/8)
	for {
		if _, err := io.ReadFull(in, frame); err != nil {
			return m.done()
		}
		for sample := frame; len(sample) > 0; sample = sample[w.bits/8:] {
			m.add(decode(sample))
		}
		if err := m.next(); err != nil {
			return nil, err
		}
	}
}

// decoder makes numbers from -1 to 1 of samples, nil where they are none.
func (w *recording) decoder() func(b []byte) float64 {
	switch [2]int{w.coding, w.bits} {
	case [2]int{integers, 8}:
		return func(b []byte) float64 { return float64(int(b[0])-128) / (1 << 7) }
	case [2]int{integers, 16}:
		return func(b []byte) float64 { return float64(int16(binary.LittleEndian.Uint16(b))) / (1 << 15) }
	case [2]int{integers, 24}:
		return func(b []byte) float64 {
			return float64(int32(uint32(b[0])<<8|uint32(b[1])<<16|uint32(b[2])<<24)) / (1 << 31)
		}
	case [2]int{integers, 32}:
		return func(b []byte) float64 { return float64(int32(binary.LittleEndian.Uint32(b))) / (1 << 31) }
	case [2]int{floats, 32}:
		return func(b []byte) float64 { return finite(float64(math.Float32frombits(binary.LittleEndian.Uint32(b)))) }
	case [2]int{floats, 64}:
		return func(b []byte) float64 { return finite(math.Float64frombits(binary.LittleEndian.Uint64(b))) }
	}
	return nil
}

// finite is a sample within what a board can play; of what is no number, silence.
func finite(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return min(max(x, -1), 1)
}
