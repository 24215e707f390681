package soundfile

import (
	"encoding/binary"
	"errors"
	"io"
	"time"
)

// mostChunks is how many chunks of a WAV file are looked at; common files have up to
// ten (common practice, no published source).
const mostChunks = 1000

// wav is the length of a RIFF file of form WAVE. Its chunks: "fmt " has the rates, "data"
// the sound, "fact" how many samples there are where it is compressed. Source: IBM,
// Microsoft, "Multimedia Programming Interface and Data Specifications 1.0", 1991,
// "Resource Interchange File Format" and "Waveform Audio File Format".
func wav(r io.ReadSeeker, size int64) (time.Duration, error) {
	var head [12]byte
	if _, err := io.ReadFull(r, head[:]); err != nil || string(head[:4]) != "RIFF" || string(head[8:]) != "WAVE" {
		return 0, errors.New("it is not a WAV file")
	}
	var (
		rate, bytesPerSecond int64
		samples, data        int64 = -1, -1
	)
	at := int64(len(head))
	for range mostChunks {
		var chunk [8]byte
		if _, err := io.ReadFull(r, chunk[:]); err != nil {
			break
		}
		at += int64(len(chunk))
		length := int64(binary.LittleEndian.Uint32(chunk[4:]))
		var body [16]byte
		switch string(chunk[:4]) {
		case "fmt ":
			if _, err := io.ReadFull(r, body[:]); err != nil {
				return 0, errors.New("it ends in its header")
			}
			rate = int64(binary.LittleEndian.Uint32(body[4:]))
			bytesPerSecond = int64(binary.LittleEndian.Uint32(body[8:]))
		case "fact":
			if _, err := io.ReadFull(r, body[:4]); err != nil {
				return 0, errors.New("it ends in its header")
			}
			samples = int64(binary.LittleEndian.Uint32(body[:]))
		case "data": // of a recording that was cut off it says more than there is
			data = min(length, size-at)
		}
		at += length + length%2 // a chunk begins at an even place
		if _, err := r.Seek(at, io.SeekStart); err != nil {
			return 0, err
		}
	}
	switch {
	case rate == 0:
		return 0, errors.New("it does not say its sampling rate")
	case samples >= 0:
		return duration(samples, rate)
	case data < 0:
		return 0, errors.New("it holds no sound")
	}
	return duration(data, bytesPerSecond)
}
