package soundfile

import (
	"bufio"
	"bytes"
	"cmp"
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
	f := newFrameReader(r)
	samples := int64(0)
	for f.next() {
		samples += f.header.samples
	}
	if samples == 0 {
		return 0, errors.New("it is not an MP3 file")
	}
	return duration(samples, f.header.rate)
}

// A frameReader gives a file's frames one after the other, all of one version and rate.
type frameReader struct {
	in     *bufio.Reader
	header header
	bytes  []byte // header and all, until the next one
}

func newFrameReader(r io.Reader) *frameReader {
	f := &frameReader{in: bufio.NewReaderSize(r, 1<<16)}
	// ID3v2.4.0, section 3.1: the size has 7 bits a byte, without the header of 10.
	if tag, err := f.in.Peek(10); err == nil && string(tag[:3]) == "ID3" {
		f.in.Discard(10 + (int(tag[6]&0x7F)<<21 | int(tag[7]&0x7F)<<14 | int(tag[8]&0x7F)<<7 | int(tag[9]&0x7F)))
	}
	return f
}

// next goes to the next frame that is whole; false: there is none.
func (f *frameReader) next() bool {
	f.in.Discard(len(f.bytes))
	f.bytes = nil
	for {
		bits, err := f.in.Peek(4)
		if err != nil {
			return false
		}
		h, ok := readHeader(binary.BigEndian.Uint32(bits))
		if !ok || f.header.rate > 0 && (h.version != f.header.version || h.rate != f.header.rate) {
			f.in.Discard(1)
			continue
		}
		if f.bytes, err = f.in.Peek(h.bytes); err != nil {
			f.bytes = nil
			return false // it is cut off
		}
		f.header = h
		return true
	}
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

// A repacker gives the frames of a file of MPEG-2 for a decoder that takes some of
// 22.05 kHz for a byte too short or too long. Each is as long as frames get, has no
// padding and no checksum, and holds all of its sound, which in the file may begin in
// the frames before (main_data_begin and part2_3_length: ISO/IEC 11172-3, 2.4.1.7, and
// ISO/IEC 13818-3, 2.4.1.7).
type repacker struct {
	*frameReader
	earlier []byte // sound of frames before
	packed  []byte // what is left of a frame
	err     error  // why there are no more
}

func (p *repacker) Read(to []byte) (int, error) {
	if len(p.packed) == 0 {
		if p.err != nil || !p.next() {
			return 0, cmp.Or(p.err, io.EOF)
		}
		if p.err = p.pack(); p.err != nil {
			return 0, p.err
		}
	}
	n := copy(to, p.packed)
	p.packed = p.packed[n:]
	return n, nil
}

func (p *repacker) pack() error {
	bits, side, channels := binary.BigEndian.Uint32(p.bytes), 4, 2
	if bits>>16&1 == 0 { // there is a checksum
		side += 2
	}
	about := 17 // bytes that tell of the sound
	if bits>>6&3 == 3 {
		about, channels = 9, 1
	}
	const longest = 14 // 160 kbit/s, of mpeg2
	bits = bits&^(15<<12|1<<9) | 1<<16 | longest<<12
	h, _ := readHeader(bits)
	p.packed = binary.BigEndian.AppendUint32(make([]byte, 0, h.bytes), bits)
	if side+about > len(p.bytes) {
		return errors.New("a frame is too short")
	}
	info := p.bytes[side : side+about]
	// After 8 bits that say how far back the sound begins and one for each channel that
	// say nothing, 63 bits for each channel, the first 12 how many bits its sound has.
	length := 0
	for c := range channels {
		at := 8 + channels + 63*c
		length += int(binary.BigEndian.Uint32(append(bytes.Clone(info[at/8:]), 0, 0, 0)) << (at % 8) >> 20)
	}
	length = (length + 7) / 8
	begin := len(p.earlier) - int(info[0])
	p.earlier = append(p.earlier, p.bytes[side+about:]...)
	switch {
	case begin < 0 || begin+length > len(p.earlier): // it is lost: silence
		p.packed = p.packed[:h.bytes]
	case 4+about+length > h.bytes:
		return fmt.Errorf("a frame of %d bytes", 4+about+length)
	default:
		p.packed = append(append(append(p.packed, 0), info[1:]...), p.earlier[begin:begin+length]...)
		p.packed = p.packed[:h.bytes] // zeros behind it
	}
	p.earlier = p.earlier[max(0, len(p.earlier)-255):]
	return nil
}
