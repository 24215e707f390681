package soundfile

import (
	"bytes"
	"encoding/binary"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const ms = time.Millisecond

// chunk is a RIFF chunk.
func chunk(id string, body ...byte) []byte {
	b := binary.LittleEndian.AppendUint32([]byte(id), uint32(len(body)))
	b = append(b, body...)
	return append(b, make([]byte, len(body)%2)...)
}

// riff is a file of chunks.
func riff(chunks ...[]byte) []byte {
	return chunk("RIFF", append([]byte("WAVE"), bytes.Join(chunks, nil)...)...)
}

// format is the "fmt " chunk of a sound with one channel.
func format(tag uint16, rate, bytesPerSecond uint32) []byte {
	b := binary.LittleEndian.AppendUint16(nil, tag)
	b = binary.LittleEndian.AppendUint16(b, 1)
	b = binary.LittleEndian.AppendUint32(b, rate)
	b = binary.LittleEndian.AppendUint32(b, bytesPerSecond)
	return chunk("fmt ", append(b, 2, 0, 16, 0)...)
}

// frames are MP3 frames of 128 kbit/s at 44.1 kHz, 417 bytes and 1152 samples each.
func frames(n int) []byte {
	frame := make([]byte, 417)
	copy(frame, []byte{0xFF, 0xFB, 0x90, 0x00})
	return bytes.Repeat(frame, n)
}

func file(t require.TestingT, dir, name string, content []byte) string {
	name = filepath.Join(dir, name)
	require.NoError(t, os.WriteFile(name, content, 0o600))
	return name
}

func TestLength(t *testing.T) {
	pcm, second := format(1, 8000, 16000), make([]byte, 16000)
	cut := riff(pcm, chunk("data", second...))
	for name, c := range map[string]struct {
		content []byte
		want    time.Duration
	}{
		"plain.wav":      {riff(pcm, chunk("data", second...)), time.Second},
		"capital.WAV":    {riff(pcm, chunk("data", second...)), time.Second},
		"notes.wav":      {riff(chunk("LIST", 1, 2, 3), pcm, chunk("data", second...), chunk("id3 ", 1)), time.Second},
		"compressed.wav": {riff(format(17, 8000, 4055), chunk("fact", 0x40, 0x1F, 0, 0), chunk("data", second[:4096]...)), time.Second},
		"cut-fact.wav":   {riff(pcm, chunk("fact", 0x40, 0x1F, 0, 0), chunk("data", second[:4000]...)), 250 * ms},
		"cut-off.wav":    {cut[:len(cut)-8000], 500 * ms},
		"plain.mp3":      {frames(100), 100 * 1152 * time.Second / 44100},
		"cut-off.mp3":    {frames(100)[:99*417+200], 99 * 1152 * time.Second / 44100},
		"tags.mp3":       {append(append([]byte("ID3\x04\x00\x00\x00\x00\x01\x02"), make([]byte, 130)...), append(frames(2), "TAG and the title"...)...), 2 * 1152 * time.Second / 44100},
	} {
		got, err := Length(file(t, t.TempDir(), name, c.content))
		require.NoError(t, err, name)
		assert.InDelta(t, c.want, got, float64(time.Microsecond), name)
	}
}

func TestNoLength(t *testing.T) {
	for name, c := range map[string]struct {
		content []byte
		want    string
	}{
		"empty.wav":    {nil, "it is not a WAV file"},
		"mp3.wav":      {frames(3), "it is not a WAV file"},
		"headless.wav": {riff(chunk("data", 1, 2)), "it does not say its sampling rate"},
		"silent.wav":   {riff(format(1, 8000, 16000)), "it holds no sound"},
		"no-data.wav":  {riff(format(1, 8000, 16000), chunk("fact", 0, 0, 0, 0), chunk("data")), "it holds no sound"},
		"stopped.wav":  {riff(format(1, 8000, 0), chunk("data", 1, 2)), "its sampling rate is 0"},
		"short.wav":    {riff(format(1, 8000, 16000))[:30], "it ends in its header"},
		"text.mp3":     {[]byte("this is a text"), "it is not an MP3 file"},
		"call.ogg":     {nil, ErrFormat.Error()},
	} {
		_, err := Length(file(t, t.TempDir(), name, c.content))
		assert.EqualError(t, err, c.want, name)
	}
	dir := t.TempDir()
	_, err := Length(filepath.Join(dir, "missing.wav"))
	assert.ErrorIs(t, err, os.ErrNotExist)
	_, err = Length(dir)
	assert.EqualError(t, err, "it is not a regular file")
	pipe := filepath.Join(dir, "pipe.wav")
	require.NoError(t, exec.Command("mkfifo", pipe).Run())
	_, err = Length(pipe) // and does not wait for somebody to write into it
	assert.EqualError(t, err, "it is not a regular file")
	large := file(t, dir, "large.mp3", frames(1))
	require.NoError(t, os.Truncate(large, largestMP3+1))
	_, err = Length(large)
	assert.EqualError(t, err, "it is larger than 64 MiB")
}

// Whatever a file holds, there is an end and no panic.
func TestBrokenFiles(t *testing.T) {
	dir := t.TempDir()
	whole := map[string][]byte{
		"broken.wav": riff(format(1, 8000, 16000), chunk("fact", 1, 0, 0, 0), chunk("data", make([]byte, 200)...)),
		"broken.mp3": append([]byte("ID3\x04\x00\x00\x00\x00\x00\x0A0123456789"), frames(5)...),
	}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"broken.wav", "broken.mp3"}).Draw(t, "name")
		content := bytes.Clone(whole[name])
		for range rapid.IntRange(1, 8).Draw(t, "changes") {
			content[rapid.IntRange(0, len(content)-1).Draw(t, "at")] = rapid.Byte().Draw(t, "byte")
		}
		content = content[:rapid.IntRange(0, len(content)).Draw(t, "length")]
		got, err := Length(file(t, dir, name, content))
		require.True(t, err != nil || got >= 0 && got <= 1000*time.Hour, "%v", got)
	})
}

// Whatever a file holds, there is an end, no panic, a length and a loudness from 0 to 1.
func FuzzSound(f *testing.F) {
	f.Add(false, riff(format(1, 8000, 16000), chunk("fact", 1, 0, 0, 0), chunk("data", make([]byte, 200)...)))
	f.Add(true, append([]byte("ID3\x04\x00\x00\x00\x00\x00\x0A0123456789"), frames(5)...))
	f.Fuzz(func(t *testing.T, mp3 bool, content []byte) {
		form := formats[".wav"]
		if mp3 {
			form = formats[".mp3"]
		}
		length, err := form.length(bytes.NewReader(content), int64(len(content)))
		require.True(t, err != nil || length >= 0 && length <= 1000*time.Hour, "%v", length)
		loudness, err := form.loudness(bytes.NewReader(content), int64(len(content)))
		require.True(t, err != nil || len(loudness) > 0)
		for _, l := range loudness {
			require.True(t, l >= 0 && l <= 1, "%v", l)
		}
	})
}

// sox makes the files and tells how many samples it decodes. Of an MP3 file it leaves the
// last frame out, of ADPCM it decodes the rest of the last block too.
func TestLengthBySox(t *testing.T) {
	if _, err := exec.LookPath("sox"); err != nil {
		t.Skip("sox is not installed; testdata/setup does it")
	}
	dir := t.TempDir()
	run := func(args ...string) string {
		out, err := exec.Command("sox", args...).CombinedOutput()
		require.NoError(t, err, "%s: %s", args, out)
		return strings.TrimSpace(string(out))
	}
	const block, frame = 505, 1152 // samples
	for _, c := range []struct {
		ext      string
		args     []string
		rates    []int
		off, few float64 // by how many samples sox is off, at the most and at the least
	}{
		{"wav", nil, []int{8000, 44100}, 0, 0},
		{"wav", []string{"-b", "8", "-c", "2"}, []int{11025}, 0, 0},
		{"wav", []string{"-e", "floating-point", "-c", "2"}, []int{48000}, 0, 0},
		{"wav", []string{"-e", "mu-law"}, []int{8000}, 0, 0},
		{"wav", []string{"-e", "ima-adpcm"}, []int{8000, 44100}, 4 * block, 0},
		{"mp3", nil, []int{8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000}, 0, -frame},
		{"mp3", []string{"-C", "-2.01", "-c", "2"}, []int{8000, 22050, 44100}, 0, -frame},
	} {
		for _, rate := range c.rates {
			name, plain := filepath.Join(dir, "x."+c.ext), filepath.Join(dir, "decoded.wav")
			run(slices.Concat([]string{"-n", "-r", strconv.Itoa(rate)}, c.args, []string{name, "synth", "1.237", "sine", "300"})...)
			run(name, plain)
			samples, err := strconv.ParseFloat(run("--i", "-s", plain), 64)
			require.NoError(t, err)
			got, err := Length(name)
			require.NoError(t, err)
			off := samples - got.Seconds()*float64(rate)
			assert.True(t, off <= c.off+0.1 && off >= c.few-0.1, "%v at %d Hz: %v, off by %v samples", c, rate, got, off)
		}
	}
}
