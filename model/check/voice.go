package check

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/motion"
)

// followers calls what for each cue that follows a track.
func followers(d *model.Design, what func(r *model.Routine, c *model.Cue, cue string)) {
	for i := range d.Routines {
		r := &d.Routines[i]
		for j := range r.Cues {
			if c := &r.Cues[j]; c.Follow.Track != "" {
				what(r, c, fmt.Sprintf("the cue at %s of routine %q", model.FormatDuration(c.At), r.Name))
			}
		}
	}
}

// voiceMissing reports cues that follow a track whose loudness is unknown or that is not
// played: no firmware can be made of them.
func voiceMissing(p *Pass) {
	followers(p.Design, func(r *model.Routine, c *model.Cue, cue string) {
		t := p.Design.Track(c.Follow.Track)
		if _, _, ok := p.Design.Followed(r, c); !ok {
			p.Report(Finding{
				Pos:     c.Source.At("follow"),
				Message: fmt.Sprintf("%s has %q follow the track %q, which the routine does not play then", cue, c.Output, t.Name),
				Advice:  fmt.Sprintf("add a cue with track = %q to the routine, or follow it before it ends", t.Name),
			})
			return
		}
		_, err := p.Design.Levels(t)
		if err == nil {
			return
		}
		f := Finding{
			Pos:     c.Source.At("follow"),
			Message: fmt.Sprintf("%s has %q follow the track %q, and how loud that is cannot be told: %v", cue, c.Output, t.Name, err),
			Advice:  "name a WAV or an MP3 file as the track's file, or write the track's loudness",
		}
		if errors.Is(err, fs.ErrNotExist) {
			f.Message = fmt.Sprintf("%s has %q follow the track %q, and its file %q is not in the design's folder", cue, c.Output, t.Name, t.File)
			f.Advice = "put the file next to the design, correct its name, or write the track's loudness"
		}
		p.Report(f)
	})
}

// voiceSilent reports cues that follow a track with loudness 0 throughout.
func voiceSilent(p *Pass) {
	followers(p.Design, func(r *model.Routine, c *model.Cue, cue string) {
		t := p.Design.Track(c.Follow.Track)
		levels, err := p.Design.Levels(t)
		if err != nil || slices.Max(levels) > 0 {
			return
		}
		f := Finding{
			Pos:     c.Source.At("follow"),
			Message: fmt.Sprintf("%s has %q follow the track %q, which is silent from beginning to end, so it stays as it is", cue, c.Output, t.Name),
			Advice:  "write a loudness that is not 0 throughout, or leave it out and name the track's file",
		}
		if t.Loudness == "" {
			f.Advice = fmt.Sprintf("listen to %q: record it again, name another file, or write the track's loudness", t.File)
		}
		p.Report(f)
	})
}

// voiceCut reports cues that take over an output that is following a track.
func voiceCut(p *Pass) {
	for i := range p.Design.Routines {
		r := &p.Design.Routines[i]
		calls := motion.Sheet(p.Design, r)
		for k, v := range calls {
			if v.Voice == nil {
				continue
			}
			end := v.At + time.Duration(len(v.Voice.Levels)-v.Voice.First)*motion.Frame
			for _, c := range calls[k+1:] {
				if c.Output != v.Output || c.At >= end || !meet(p.Design.Output(v.Output), c.Action, v.Action) {
					continue
				}
				p.Report(Finding{
					Pos: r.Cues[c.Cue].Pos,
					Message: fmt.Sprintf("the cue at %s of routine %q takes %q over, which follows the track %q until %s",
						model.FormatDuration(c.At), r.Name, c.Output, v.Voice.Follow.Track, model.FormatDuration(end)),
					Advice: "begin the cue when the track has ended, or leave it: another cue with follow gives the output back to the track",
				})
				break
			}
		}
	}
}

// meet reports whether two actions concern the same servo or the same pixels.
func meet(o *model.Output, a, b model.Action) bool {
	first, last := o.Stretch(a)
	from, to := o.Stretch(b)
	return first <= to && from <= last
}

// mostLag is the share of the way asked for that a servo may miss on average without a
// finding (from memory: less is not seen on a beak).
const mostLag = 0.15

// voiceLags reports servos that cannot keep up with the voice that they follow.
func voiceLags(p *Pass) {
	for i := range p.Design.Routines {
		r := &p.Design.Routines[i]
		for _, c := range motion.Sheet(p.Design, r) {
			o := p.Design.Output(c.Output)
			if c.Voice == nil || o.Kind != model.KindServo {
				continue
			}
			lag := lagOf(o, c)
			if lag.share <= mostLag {
				continue
			}
			cue := &r.Cues[c.Cue]
			p.Report(Finding{
				Pos: cue.Source.At("follow"),
				Message: fmt.Sprintf("%q cannot keep up with the track %q: of the way that the voice asks for it misses %.0f %% on average; at %s of routine %q it is at %v and should be at %v",
					o.Name, c.Voice.Follow.Track, 100*lag.share, model.FormatDuration(c.At+lag.at), r.Name, rounded(lag.is), rounded(lag.wanted)),
				Advice: "write a longer attack and release, or send it less far; or, if its mechanism stands more, a higher max_speed and max_accel",
			})
		}
	}
}

// A lag says how far a servo falls behind a voice.
type lag struct {
	share      float64       // of the way asked for, on average
	at         time.Duration // of the worst moment, since the cue began
	is, wanted float64       // degrees at that moment
}

func lagOf(o *model.Output, c motion.Call) (l lag) {
	g := motion.NewGenerator(motion.LimitsOf(o), motion.Pulse(o, float64(c.Voice.Follow.Quiet)))
	degrees := func(width uint16) float64 {
		at := motion.NewGenerator(g.Limits, width)
		return at.Degrees(o)
	}
	quiet := degrees(g.Width())
	missed, asked, worst := 0.0, 0.0, 0.0
	for n, width := range c.Voice.Widths(o, c.Action.To) {
		g.Move(width, 0, model.EaseSmooth)
		g.Tick()
		g.Step()
		wanted, is := degrees(width), g.Degrees(o)
		miss := math.Abs(wanted - is)
		missed, asked = missed+miss, asked+math.Abs(wanted-quiet)
		if miss > worst {
			worst, l.at, l.is, l.wanted = miss, time.Duration(n)*motion.Frame, is, wanted
		}
	}
	if asked > 0 {
		l.share = missed / asked
	}
	return l
}
