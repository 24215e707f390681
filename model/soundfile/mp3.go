package soundfile

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"time"
)

// largestMP3 is how large an MP3 file may be, in bytes: each of its frames is looked at.
// At 128 kbit/s it plays for more than an hour.
const largestMP3 = 64 << 20

var errLarge = fmt.Errorf("it is larger than %d MiB", largestMP3>>20)

// mp3Length is how long a file of MPEG audio, Layer III, plays: the sum of its frames.
// The one in which encoders keep notes is counted, since not every player knows it. Tags
// before, between and after frames are skipped.
func mp3Length(r io.ReadSeeker, size int64) (time.Duration, error) {
	if size > largestMP3 {
		return 0, errLarge
	}
	in := bufio.NewReaderSize(r, 1<<16)
	// ID3v2.4.0, section 3.1: the size has 7 bits a byte, without the header of 10.
	if tag, err := in.Peek(10); err == nil && string(tag[:3]) == "ID3" {
		in.Discard(10 + (int(tag[6]&0x7F)<<21 | int(tag[7]&0x7F)<<14 | int(tag[8]&0x7F)<<7 | int(tag[9]&0x7F)))
	}
	var first header
	samples := int64(0)
	for {
		bits, err := in.Peek(4)
		if err != nil {
			break
		}
		h, ok := readHeader(binary.BigEndian.Uint32(bits))
		if !ok || samples > 0 && (h.version != first.version || h.rate != first.rate) {
			in.Discard(1)
			continue
		}
		if _, err := in.Discard(h.bytes); err != nil {
			break // it is cut off
		}
		first = h
		samples += h.samples
	}
	if samples == 0 {
		return 0, errors.New("it is not an MP3 file")
	}
	return duration(samples, first.rate)
}

// A header is what that of a frame says.
type header struct {
	version uint32 // 3: MPEG-1, 2: MPEG-2, 0: MPEG-2.5
	rate    int64  // samples a second
	samples int64
	bytes   int // of the frame, header and all
}

// Bit rates in kbit/s and sampling rates of Layer III: ISO/IEC 11172-3, 2.4.2.3, and
// ISO/IEC 13818-3, 2.4.2.3. MPEG-2.5, of half the lowest rates, is in no standard
// (from memory).
var (
	mpeg1 = [...]int{0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320}
	mpeg2 = [...]int{0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160}
	rates = [...]int64{44100, 48000, 32000}
)

// readHeader reads a frame's first 32 bits: 11 ones, 2 bits of version, 2 of layer, 1 that
// tells of a checksum, 4 of bit rate, 2 of sampling rate, 1 of a byte more.
func readHeader(bits uint32) (h header, ok bool) {
	const layer3 = 1
	h.version = bits >> 19 & 3
	kbits, rate, more := int(bits>>12&15), int(bits>>10&3), int(bits>>9&1)
	if bits>>21 != 0x7FF || h.version == 1 || bits>>17&3 != layer3 || kbits == 0 || kbits >= len(mpeg1) || rate >= len(rates) {
		return h, false
	}
	h.rate, h.samples = rates[rate], 1152
	speed := mpeg1[kbits]
	if h.version != 3 {
		h.rate, h.samples, speed = h.rate/2, 576, mpeg2[kbits]
	}
	if h.version == 0 {
		h.rate /= 2
	}
	h.bytes = int(h.samples)/8*speed*1000/int(h.rate) + more
	return h, true
}
