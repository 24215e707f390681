package check

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"time"

	"propwright/model"
	"propwright/model/soundfile"
)

func soundOverrun(p *Pass) {
	d := p.Design
	for i := range d.Routines {
		r := &d.Routines[i]
		length := d.RoutineLength(r)
		for j := range r.Cues {
			c := &r.Cues[j]
			t := d.Track(c.Track)
			if t == nil {
				continue
			}
			// A track's trigger is not sent before the routine begins.
			end := max(c.At, t.Latency) + t.Length
			if end <= length {
				continue
			}
			p.Report(Finding{
				Pos: c.Source.At("track"),
				Message: fmt.Sprintf("the track %q, which begins at %s of routine %q, sounds until %s, but the routine ends at %s",
					t.Name, model.FormatDuration(max(c.At, t.Latency)), r.Name, model.FormatDuration(end), model.FormatDuration(length)),
				Advice: fmt.Sprintf("give the routine length = %q, or begin the track sooner", model.FormatDuration(roundUp(end))),
				Fix:    fix(&r.Source, "length", model.FormatDuration(roundUp(end))),
			})
		}
	}
}

// sharedSound reports tracks that no board can tell apart: the same pulse, the same
// message or the same switch starts them.
func sharedSound(p *Pass) {
	first := map[model.Play]*model.Track{}
	for i := range p.Design.Tracks {
		t := &p.Design.Tracks[i]
		trigger, how := t.Play, fmt.Sprintf("the output %q", t.Play.Output)
		switch o := p.Design.Output(trigger.Output); {
		case o.Kind == model.KindMessage:
			how = fmt.Sprintf("the message %q of %s", trigger.Value, how)
		case o.Kind == model.KindPulse || trigger.Value != "off":
			trigger.Value = ""
		}
		other := first[trigger]
		if other == nil {
			first[trigger] = t
			continue
		}
		p.Report(Finding{
			Pos:     t.At("play"),
			Message: fmt.Sprintf("the tracks %q and %q (line %d) are both started by %s: the board plays one sound for both", t.Name, other.Name, other.Pos.Line, how),
			Advice:  "start one of them with another message or output, or make one track of them",
		})
	}
}

// nearly is by how much a track's length may differ from its file's: people round
// lengths, and an MP3 encoder adds a frame or two, 26 ms each at 44.1 kHz.
const nearly = 100 * time.Millisecond

// soundFile looks at tracks' files, which are found from the design's folder.
func soundFile(p *Pass) {
	for i := range p.Design.Tracks {
		t := &p.Design.Tracks[i]
		if t.File == "" || p.Design.File == "" {
			continue
		}
		f := Finding{Pos: t.At("file"), Advice: "put the file next to the design, correct its name, or leave file out"}
		length, err := soundfile.Length(filepath.Join(filepath.Dir(p.Design.File), filepath.FromSlash(t.File)))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			f.Message = fmt.Sprintf("there is no file %q in the design's folder, for the track %q", t.File, t.Name)
		case errors.Is(err, soundfile.ErrFormat):
			continue // it is there, and that is all that can be said
		case err != nil:
			f.Message = fmt.Sprintf("how long the file %q of the track %q plays cannot be told: %v", t.File, t.Name, err)
			f.Advice = "use a WAV or an MP3 file, or leave file out"
		case (length - t.Length).Abs() > nearly:
			f.Pos = t.At("length")
			f.Message = fmt.Sprintf("the track %q says %s, but its file %q plays for %s",
				t.Name, model.FormatDuration(t.Length), t.File, model.FormatDuration(roundUp(length)))
			f.Advice = fmt.Sprintf("write length = %q, or name the right file", model.FormatDuration(roundUp(length)))
			f.Fix = fix(&t.Source, "length", model.FormatDuration(roundUp(length)))
		default:
			continue
		}
		p.Report(f)
	}
}

// roundUp is a time in whole milliseconds.
func roundUp(t time.Duration) time.Duration {
	return (t + time.Millisecond - 1).Truncate(time.Millisecond)
}
