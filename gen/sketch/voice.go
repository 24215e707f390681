package sketch

import (
	"fmt"

	"propwright/model"
	"propwright/model/motion"
)

// A follow lets an output follow a track's loudness.
type follow struct {
	Output      string // as the firmware knows it: a servo, or a layer with PW_VOICE_LIGHT
	First       int    // index of its first level in Loudness
	Frames      int
	Quiet, Loud int // pulse widths; of a layer Quiet is its light
	Gain        uint16
	Attack      uint16
	Release     uint16
	Remark      string
}

// follow writes a cue that lets an output follow a track.
func (b *builder) follow(o *model.Output, c *model.Cue, call motion.Call, wait int, note string) {
	v := call.Voice
	levels, err := b.d.Levels(b.d.Track(v.Follow.Track))
	if err != nil {
		b.fault(c.Source.At("follow"), "put the track's file where the design says it is, or write the track's loudness",
			"how loud the track %q is cannot be told: %v", v.Follow.Track, err)
		return
	}
	first, ok := b.loudnessOf[v.Follow.Track]
	if !ok {
		first = 2 * len(b.Loudness)
		b.loudnessOf[v.Follow.Track] = first
		b.Loudness = append(b.Loudness, packed(levels)...)
	}
	f := follow{
		First: first + v.First, Frames: len(v.Levels) - v.First,
		Gain: v.Gain, Attack: v.Attack, Release: v.Release, Remark: remark(o.Name + " follows " + v.Follow.Track),
	}
	if o.Kind == model.KindPixels {
		b.VoiceLights = true
		f.Output = fmt.Sprintf("PW_VOICE_LIGHT + %d", b.layer(o, call.Action))
		f.Quiet = b.voiceLight(o, call.Action)
	} else {
		b.VoiceServos = true
		f.Output = fmt.Sprint(b.numberOf[o.Name])
		f.Quiet, f.Loud = widthAt(o, float64(v.Follow.Quiet)), widthAt(o, float64(call.Action.To))
	}
	slot, ok := b.followerOf[f.Output]
	if !ok {
		slot = len(b.followerOf)
		b.followerOf[f.Output] = slot
		b.Followers++
	}
	b.Cues = append(b.Cues, cue{Wait: wait, What: "PW_CUE_FOLLOW", Output: slot, Value: len(b.Follows), Remark: remark(f.Remark, note)})
	b.Follows = append(b.Follows, f)
}

// packed returns levels, two in a byte, the first one in the lower half.
func packed(levels []uint8) []byte {
	b := make([]byte, (len(levels)+1)/2)
	for i, l := range levels {
		b[i/2] |= l << (i % 2 * 4)
	}
	return b
}

// LoudnessLines returns the bytes of Loudness in C.
func (f *firmware) LoudnessLines() (lines []string) {
	const each = 16
	for i := 0; i < len(f.Loudness); i += each {
		line := ""
		for _, b := range f.Loudness[i:min(i+each, len(f.Loudness))] {
			line += fmt.Sprintf("0x%02X, ", b)
		}
		lines = append(lines, line[:len(line)-1])
	}
	return lines
}
