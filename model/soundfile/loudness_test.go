package soundfile

import (
	"bytes"
	"encoding/binary"
	"math"
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

func TestLoudness(t *testing.T) {
	pcm := format(1, 8000, 16000)
	half := bytes.Repeat([]byte{0x00, 0x40}, 400) // 50 ms at half of full scale
	got, err := Loudness(file(t, t.TempDir(), "half.wav", riff(pcm, chunk("data", half...))))
	require.NoError(t, err)
	assert.Equal(t, []float64{0.5, 0.5, 0.5}, got)
}

// A file that is recorded anew is decoded anew.
func TestLoudnessOfChangedFile(t *testing.T) {
	dir := t.TempDir()
	for _, sample := range []byte{0x40, 0x20} {
		name := file(t, dir, "voice.wav", riff(format(1, 8000, 16000), chunk("data", 0, sample)))
		require.NoError(t, os.Chtimes(name, time.Time{}, time.Unix(int64(sample), 0)))
		got, err := Loudness(name)
		require.NoError(t, err)
		assert.Equal(t, []float64{float64(sample) / 0x80}, got)
	}
}

func TestNoLoudness(t *testing.T) {
	for name, c := range map[string]struct {
		content []byte
		want    string
	}{
		"empty.wav":      {nil, "it is not a WAV file"},
		"silent.wav":     {riff(format(1, 8000, 16000), chunk("data")), "it holds no sound"},
		"compressed.wav": {riff(format(17, 8000, 4055), chunk("data", 1, 2)), "its sound is compressed, or of 16 bits a sample: save it as WAV of plain 16-bit samples (PCM), or as MP3"},
		"call.ogg":       {nil, ErrFormat.Error()},
	} {
		_, err := Loudness(file(t, t.TempDir(), name, c.content))
		assert.EqualError(t, err, c.want, name)
	}
	_, err := Loudness(file(t, t.TempDir(), "text.mp3", []byte("this is a text")))
	assert.ErrorContains(t, err, "save it as WAV, or as MP3 of 44.1 kHz")
	_, err = Loudness(filepath.Join(t.TempDir(), "missing.mp3"))
	assert.ErrorIs(t, err, os.ErrNotExist)
}

// Whatever a file holds, there is an end, no panic and a loudness from 0 to 1.
func TestLoudnessOfBrokenFiles(t *testing.T) {
	dir := t.TempDir()
	noise := make([]byte, 4000)
	for i := range noise {
		noise[i] = byte(i * i * 7)
	}
	whole := map[string][]byte{
		"broken.wav": riff(format(1, 8000, 16000), chunk("data", noise...)),
		"22050.mp3":  bytes.Repeat(append([]byte{0xFF, 0xF3, 0x80, 0xC0}, noise[:204]...), 20),
		"broken.mp3": append([]byte("ID3\x04\x00\x00\x00\x00\x00\x0A0123456789"), frames(5)...),
	}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"broken.wav", "broken.mp3", "22050.mp3"}).Draw(t, "name")
		content := bytes.Clone(whole[name])
		for range rapid.IntRange(1, 8).Draw(t, "changes") {
			content[rapid.IntRange(0, len(content)-1).Draw(t, "at")] = rapid.Byte().Draw(t, "byte")
		}
		content = content[:rapid.IntRange(0, len(content)).Draw(t, "length")]
		name = file(t, dir, strconv.FormatUint(rapid.Uint64().Draw(t, "number"), 36)+name, content)
		got, err := Loudness(name)
		require.NoError(t, os.Remove(name))
		require.True(t, err != nil || len(got) > 0)
		for _, l := range got {
			require.True(t, l >= 0 && l <= 1, "%v", l)
		}
	})
}

// sox decodes the files, and the root of the mean square of each 20 ms is that of what
// it gives; some of them sox works out itself. Its MP3 decoder's last frame is left out.
func TestLoudnessBySox(t *testing.T) {
	if _, err := exec.LookPath("sox"); err != nil {
		t.Skip("sox is not installed; testdata/setup does it")
	}
	dir := t.TempDir()
	run := func(args ...string) []byte {
		out, err := exec.Command("sox", args...).Output()
		require.NoError(t, err, "%s", args)
		return out
	}
	for _, c := range [][]string{{"-r", "8000"}, {"-r", "11025"}} {
		name := filepath.Join(dir, "refused"+c[1]+".mp3")
		run(slices.Concat([]string{"-n"}, c, []string{name, "synth", "0.5", "sine", "300"})...)
		_, err := Loudness(name)
		assert.ErrorContains(t, err, "save it as WAV, or as MP3 of 44.1 kHz", "%s", c)
	}
	// 49 frames of 576 samples are 64 windows. What the first ones that are left need of
	// those before them is lost; the others sound as they did.
	name := filepath.Join(dir, "cut.mp3")
	run("-n", "-r", "22050", "-C", "32", name, "synth", "3", "pinknoise", "tremolo", "3", "90")
	whole, err := Loudness(name)
	require.NoError(t, err)
	content, err := os.ReadFile(name)
	require.NoError(t, err)
	f := newFrameReader(bytes.NewReader(content))
	for range 49 {
		require.True(t, f.next())
		content = content[len(f.bytes):]
	}
	require.NoError(t, os.WriteFile(name, content, 0o644))
	cut, err := Loudness(name)
	require.NoError(t, err)
	const lost = 15
	assert.InDeltaSlice(t, whole[64+lost:], cut[lost:], 1e-4)
	assert.Zero(t, cut[0])

	for _, c := range []struct {
		ext   string
		args  []string
		rates []int
		off   float64 // of the loudness
	}{
		{"wav", nil, []int{8000, 11025, 22050, 44100}, 1e-6},
		{"wav", []string{"-b", "8", "-c", "2"}, []int{11025}, 1e-6},
		{"wav", []string{"-b", "24", "-c", "2"}, []int{48000}, 1e-6},
		{"wav", []string{"-b", "32"}, []int{44100}, 1e-6},
		{"wav", []string{"-e", "floating-point"}, []int{48000}, 1e-6},
		{"mp3", nil, []int{16000, 22050, 24000, 32000, 44100, 48000}, 1e-4},
		{"mp3", []string{"-C", "-2.01", "-c", "2"}, []int{22050, 24000, 44100}, 1e-4},
		{"mp3", []string{"-C", "32"}, []int{22050}, 1e-4},
		{"mp3", []string{"-C", "96", "-c", "2"}, []int{22050}, 1e-4},
	} {
		for _, rate := range c.rates {
			name := filepath.Join(dir, strconv.Itoa(rate)+strings.Join(c.args, "")+"."+c.ext)
			// Noise that comes and goes, like a voice.
			run(slices.Concat([]string{"-n", "-r", strconv.Itoa(rate)}, c.args, []string{name, "synth", "1.237", "pinknoise", "tremolo", "3", "90"})...)
			got, err := Loudness(name)
			require.NoError(t, err, name)

			raw := run(name, "-c", "1", "-t", "raw", "-e", "floating-point", "-b", "64", "-")
			channels := 1
			if slices.Contains(c.args, "2") {
				channels = 2
				raw = run(name, "-t", "raw", "-e", "floating-point", "-b", "64", "-")
			}
			samples := make([]float64, len(raw)/8)
			for i := range samples {
				samples[i] = math.Float64frombits(binary.LittleEndian.Uint64(raw[8*i:]))
			}
			whole := len(samples) / channels * 50 / rate // windows
			require.GreaterOrEqual(t, len(got), whole)
			require.LessOrEqual(t, len(got), whole+5)
			begin := 0
			for n := range whole {
				end := ((n+1)*rate + 49) / 50 // what begins before it belongs to the window
				sum := 0.0
				for _, s := range samples[begin*channels : end*channels] {
					sum += s * s
				}
				rms := math.Sqrt(sum / float64((end-begin)*channels))
				require.InDelta(t, rms, got[n], c.off, "%s, window %d", name, n)
				if n%13 == 0 && channels == 1 && c.ext == "wav" {
					stat, err := exec.Command("sox", name, "-n", "trim", strconv.Itoa(begin)+"s", strconv.Itoa(end-begin)+"s", "stat").CombinedOutput()
					require.NoError(t, err)
					_, rest, _ := strings.Cut(string(stat), "RMS     amplitude:")
					by, err := strconv.ParseFloat(strings.Fields(rest)[0], 64)
					require.NoError(t, err, "%s", stat)
					require.InDelta(t, by, got[n], c.off+1e-6, "%s, window %d", name, n)
				}
				begin = end
			}
		}
	}
}
