package model

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"propwright/model/soundfile"
	"propwright/model/tomltree"
)

// A Follow has an output of a cue go with the loudness of a track that the routine
// plays, from the cue's time on, while the track sounds: in silence a servo is at Quiet
// and a light has its Colour2, at the loudest they are where the cue's To or Colour sends
// them. Another cue of the output takes it over, and so does leaving the routine.
type Follow struct {
	Track string // "": the cue follows none
	Quiet Degrees
	Gain  float64 // 1 unless said otherwise
	// Attack and Release are the time constants with which the output goes after what
	// grows louder and what falls silent; 0: at once.
	Attack, Release time.Duration
}

// Levels of loudness, which are 0 to MostLevel, of LevelTime each.
const (
	MostLevel = 15
	LevelTime = soundfile.Window
)

// How a follow begins: a syllable comes in a few hundredths of a second, and a mouth
// closes more slowly than it opens (common practice, no published source).
const (
	firstAttack  = 20 * time.Millisecond
	firstRelease = 80 * time.Millisecond
	mostGain     = 15
	slowest      = 5 * time.Second
)

// follows are the keys of a cue that follows a track; those of where it goes are the
// kind's.
func (c *Cue) follows(o *Output) []field {
	return append(slices.Clone(o.ofKind().follow(c, o)),
		may("gain", gain(&c.Follow.Gain), "1.5", "how much louder than it is the sound is taken for"),
		may("attack", timeConstant(&c.Follow.Attack, firstAttack), `"20ms"`, "how soon the output goes after what grows louder: a time constant"),
		may("release", timeConstant(&c.Follow.Release, firstRelease), `"80ms"`, "how soon it goes after what falls silent: a time constant"),
	)
}

func gain(p *float64) codec {
	c := number(p, 0.1, mostGain, "")
	c.clear = func() { *p = 1 }
	c.unset = func() bool { return *p == 0 || *p == 1 }
	return c
}

func timeConstant(p *time.Duration, normal time.Duration) codec {
	c := duration(p, normal, 0).hold(text("a time from 0s to " + FormatDuration(slowest)))
	read := c.read
	c.read = func(r *reader, v *value) {
		if read(r, v); *p > slowest {
			r.refuse(v.Pos, inRange(*p, 0, slowest, FormatDuration(*p), c.holds))
		}
	}
	return c
}

// Follows reports whether outputs of the kind can follow a track's loudness.
func (k OutputKind) Follows() bool { return k.of().follow != nil }

// loudness is a track's loudness as a text: a hexadecimal digit for each 20 ms.
func loudness(p *string) codec {
	return word(p, "", func(v *value) (string, error) {
		s, err := fromText(v, func(s string) (string, error) { return s, nil })
		s = strings.ToLower(strings.Join(strings.FieldsFunc(s, unicode.IsSpace), ""))
		for _, r := range s {
			if _, bad := strconv.ParseUint(string(r), 16, 8); err == nil && bad != nil {
				err = &ValueError{Wrong: fmt.Sprintf("%q is not a loudness", r), Advice: "write a digit from 0 to f for each 20 ms, f being the loudest"}
			}
		}
		if err == nil && len(s) > math.MaxUint16 {
			err = &ValueError{Wrong: fmt.Sprintf("there are %d digits", len(s)), Advice: fmt.Sprintf("write at most %d, one for each 20 ms", math.MaxUint16)}
		}
		return s, err
	}, tomltree.Quote).hold(text("a hexadecimal digit for each 20 ms, f being the loudest"))
}

// SoundFile is where a track's file is: it is found from the design's folder.
func (d *Design) SoundFile(t *Track) string {
	return filepath.Join(filepath.Dir(d.File), filepath.FromSlash(t.File))
}

// Levels is how loud a track is, LevelTime by LevelTime, from 0 to MostLevel: by what the design
// says, else by the track's file, whose loudest moment is MostLevel. The error is that of
// soundfile.Loudness, or says that there is neither.
func (d *Design) Levels(t *Track) ([]uint8, error) {
	if t.Loudness != "" {
		levels := make([]uint8, len(t.Loudness))
		for i := range levels {
			n, err := strconv.ParseUint(t.Loudness[i:i+1], 16, 8)
			if err != nil {
				return nil, err
			}
			levels[i] = uint8(n)
		}
		return levels, nil
	}
	if t.File == "" {
		return nil, fmt.Errorf("the track %q has neither file nor loudness", t.Name)
	}
	loud, err := soundfile.Loudness(d.SoundFile(t))
	if err != nil {
		return nil, err
	}
	levels, most := make([]uint8, len(loud)), slices.Max(loud)
	for i, l := range loud {
		if most > 0 {
			levels[i] = uint8(math.Round(MostLevel * l / most))
		}
	}
	return levels, nil
}

// Followed is when, in a routine's time, a cue of it begins to follow its track, and how
// far the track has got by then. It is false where the track does not sound in the
// routine at the cue's time or after it. Of several times that it is played, the first is
// followed that has not ended yet.
func (d *Design) Followed(r *Routine, c *Cue) (at, into time.Duration, ok bool) {
	t := d.Track(c.Follow.Track)
	if t == nil {
		return 0, 0, false
	}
	for i := range r.Cues {
		if r.Cues[i].Track != t.Name {
			continue
		}
		begins := max(r.Cues[i].At, t.Latency)
		if begins+t.Length > c.At && (!ok || begins < at-into) {
			at, into, ok = max(begins, c.At), max(0, c.At-begins), true
		}
	}
	return at, into, ok
}
