package check

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
	"propwright/model/soundfile"
	"propwright/model/timed"
)

func soundOverrun(p *Pass) {
	d := p.Design
	for i := range d.Routines {
		r := &d.Routines[i]
		length := d.RoutineLength(r).Round(time.Millisecond)
		for _, call := range motion.Sheet(d, r) {
			c := &r.Cues[call.Cue]
			t := d.Track(call.Track)
			if t == nil {
				continue
			}
			from, end := call.Heard(t)
			if end <= length {
				continue
			}
			p.Report(Finding{
				Pos: c.Source.At("track"),
				Message: fmt.Sprintf("the track %q, which begins at %s of routine %q, sounds until %s, but the routine ends at %s",
					t.Name, model.FormatDuration(from), r.Name, model.FormatDuration(end), model.FormatDuration(length)),
				Advice: fmt.Sprintf("give the routine length = %q, or begin the track sooner", model.FormatDuration(model.RoundUp(end))),
				Fix:    fix(&r.Source, "length", model.FormatDuration(model.RoundUp(end))),
			})
		}
	}
}

// sharedSound reports tracks that the board cannot tell apart, because the same pulse,
// message or switch starts them.
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

// nearly is the difference allowed between a track's length and its file's: people round
// lengths, and an MP3 encoder adds a frame or two, 26 ms each at 44.1 kHz.
const nearly = 100 * time.Millisecond

// soundFile compares tracks with their files in the design's folder.
func soundFile(p *Pass) {
	for i := range p.Design.Tracks {
		t := &p.Design.Tracks[i]
		if t.File == "" || p.Design.File == "" {
			continue
		}
		f := Finding{Pos: t.At("file"), Advice: "put the file next to the design, correct its name, or leave file out"}
		length, err := soundfile.Length(p.Design.SoundFile(t))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			f.Message = fmt.Sprintf("there is no file %q in the design's folder, for the track %q", t.File, t.Name)
		case errors.Is(err, soundfile.ErrFormat):
			continue // the file exists; its length cannot be read
		case err != nil:
			f.Message = fmt.Sprintf("how long the file %q of the track %q plays cannot be told: %v", t.File, t.Name, err)
			f.Advice = "use a WAV or an MP3 file, or leave file out"
		case (length - t.Length).Abs() > nearly:
			f.Pos = t.At("length")
			f.Message = fmt.Sprintf("the track %q says %s, but its file %q plays for %s",
				t.Name, model.FormatDuration(t.Length), t.File, model.FormatDuration(model.RoundUp(length)))
			f.Advice = fmt.Sprintf("write length = %q, or name the right file", model.FormatDuration(model.RoundUp(length)))
			f.Fix = fix(&t.Source, "length", model.FormatDuration(model.RoundUp(length)))
		default:
			continue
		}
		p.Report(f)
	}
}

// A sound is a track that a state plays and that nothing silences when the state is left.
// Times are in milliseconds.
type sound struct {
	track *model.Track
	at    int64 // of its call, since the state's entry
	lasts int64 // from the call to its end
	round int64 // period of its calls; 0 for a single one
}

// unsilenced returns such sounds of a state.
func unsilenced(d *model.Design, st *model.State) (all []sound) {
	r := d.Routine(st.Plays)
	if r == nil {
		return nil
	}
	round := int64(0)
	if r.Loop {
		round = d.RoutineLength(r).Round(time.Millisecond).Milliseconds()
	}
	for _, c := range motion.Sheet(d, r) {
		if t := d.Track(c.Track); t != nil && c.Sound == nil {
			all = append(all, sound{t, c.At.Milliseconds(), model.RoundUp(t.Latency + t.Length).Milliseconds(), round})
		}
	}
	return all
}

// longest returns the time between least and most at which the state must be left for
// the sound to go on longest, and how long it then does; false if it does not sound then.
func (s sound) longest(least, most int64) (at, on int64, ok bool) {
	last, next := s.at, s.at // the last call before least and the first call after it
	switch {
	case s.at >= least:
		last = -timed.Never
	case s.round > 0:
		next += (least - s.at + s.round - 1) / s.round * s.round
		last = next - s.round
	default:
		next = timed.Never
	}
	if next <= most && next < timed.Never {
		return next, s.lasts, true
	}
	on = last + s.lasts - least
	return least, on, on > 0
}

// unsilencedSound reports tracks that go on when the state that plays them is left, even
// by stop. Tracks longer than their routine are left to sound-overrun.
func unsilencedSound(p *Pass) {
	type leaving struct {
		state machine.StateID
		run   timed.Run
		on    int64
	}
	var order []*model.Track
	states := map[*model.Track][]machine.StateID{}
	worst := map[*model.Track]leaving{}
	for i := range p.Design.States {
		id := machine.StateID(i)
		end := timed.Never
		if p.Program.Length[i] >= 0 {
			end = p.Program.Length[i]
		}
		for _, s := range unsilenced(p.Design, &p.Design.States[i]) {
			var on int64
			run, ok := p.explored.Leaving(id, func(least, most int64) (at int64, ok bool) {
				at, on, ok = s.longest(least, min(most, end-1))
				return at, ok && at < end
			})
			if !ok {
				continue
			}
			if states[s.track] == nil {
				order = append(order, s.track)
			}
			if !slices.Contains(states[s.track], id) {
				states[s.track] = append(states[s.track], id)
			}
			if on > worst[s.track].on {
				worst[s.track] = leaving{id, run, on}
			}
		}
	}
	for _, t := range order {
		run := worst[t].run
		p.reportAmong(states[t], report{
			Finding: Finding{
				Pos: t.Pos, State: p.Program.Name(worst[t].state),
				Message: fmt.Sprintf("the track %q, played in %s, sounds on for up to %s when its routine is left: nothing silences it",
					t.Name, p.list(states[t]), model.FormatDuration(ms(worst[t].on))),
				Advice: "write stop = … with what silences the board: a message of its output, the track of an empty file, or { output = … } with the output at its stop input",
			},
			show: func(f *Finding) { f.shows(run, Claim{State: p.Program.Name(run.State()), Sounds: t.Name}) },
		})
	}
}

// soundsOn reports whether a sound of a track goes on after a time.
func soundsOn(stage *motion.Stage, track string, after time.Duration) bool {
	return slices.ContainsFunc(stage.Heard(after), func(h motion.Heard) bool { return h.Track == track && h.To > after })
}
