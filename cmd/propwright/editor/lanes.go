package editor

import (
	"slices"
	"strings"
	"time"

	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/motion"
)

// lanes are a routine in time: a lane for each output and each sound that it
// uses, as the prop would play it from rest.
type lanes struct {
	of     *model.Design // as it is written
	d      *model.Design // as it is wired
	r      *model.Routine
	stage  *motion.Stage
	length time.Duration
	lanes  []lane
}

// A lane is one output or one sound.
type lane struct {
	name   string
	output *model.Output
	track  *model.Track
	at     []time.Duration // when its cues come
	words  []string        // and in short what they say
	levels []uint8         // of a track, where its loudness is drawn
}

// newLanes lays a routine out.
func newLanes(of *model.Design, r *model.Routine) lanes {
	d := of.Wired()
	r = d.Routine(r.Name)
	l := lanes{of: of, d: d, r: r, stage: motion.Alone(d, r), length: max(d.RoutineLength(r), time.Second)}
	for i := range d.Outputs {
		o := &d.Outputs[i]
		ln := lane{name: o.Name, output: o}
		for j := range r.Cues {
			c := &r.Cues[j]
			if c.Output == o.Name {
				ln.at = append(ln.at, c.At)
				ln.words = append(ln.words, outputForms[motion.FormOf(o)].word(o, c.Action))
			}
		}
		if ln.at != nil {
			l.lanes = append(l.lanes, ln)
		}
	}
	for i := range d.Tracks {
		t := &d.Tracks[i]
		ln := lane{name: "♪ " + t.Name, track: t}
		for j := range r.Cues {
			if r.Cues[j].Track == t.Name {
				ln.at = append(ln.at, r.Cues[j].At)
				l.length = max(l.length, r.Cues[j].At+t.Length)
			}
		}
		if ln.at != nil {
			ln.levels = drawnLevels(d, r, t)
			l.lanes = append(l.lanes, ln)
		}
	}
	return l
}

// longestDrawn is for how long a track may last whose loudness is drawn though nothing
// follows it: its file is decoded for that.
const longestDrawn = time.Minute

// drawnLevels returns a track's loudness, where it is known and soon found.
func drawnLevels(d *model.Design, r *model.Routine, t *model.Track) []uint8 {
	followed := slices.ContainsFunc(r.Cues, func(c model.Cue) bool { return c.Follow.Track == t.Name })
	if t.Length > longestDrawn && !followed {
		return nil
	}
	levels, err := d.Levels(t)
	if err != nil {
		return nil // check tells of it
	}
	return levels
}

const laneNames = 13

// draw draws the lanes under a line of times, on which a time is marked, where it is
// not negative. The lane of a cue is among those shown; the cue may be nil.
func (l *lanes) draw(p pane.Pen, t theme, now time.Duration, cue *model.Cue) {
	w := p.W - laneNames - 1
	if w < 8 || p.H < 2 {
		return
	}
	at := 0
	if cue != nil {
		at = max(slices.IndexFunc(l.lanes, func(ln lane) bool { return ln.plays(cue) }), 0)
	}
	l.ruler(p.Part(laneNames, 0, w, 1), t, now)
	rows := 1
	if len(l.lanes)*2+1 <= p.H {
		rows = 2
	}
	shown := min((p.H-1)/rows, len(l.lanes))
	top := pane.Scrolled(0, at, shown, len(l.lanes))
	for i := range shown {
		y := 1 + i*rows
		ln := &l.lanes[top+i]
		p.Within(1, y+rows-1, laneNames-2, t.Strong, ln.name)
		l.drawLane(p.Part(laneNames, y, w, rows), t, ln)
	}
	p.Part(0, 1, p.W, p.H-1).More(t.Strong, top > 0, top+shown < len(l.lanes))
}

// plays reports whether a cue is one of the lane's.
func (ln *lane) plays(c *model.Cue) bool {
	if ln.track != nil {
		return c.Track == ln.track.Name
	}
	return c.Output == ln.output.Name
}

// time returns the time in the middle of a column.
func (l *lanes) time(x, w int) time.Duration {
	return l.length * time.Duration(2*x+1) / time.Duration(2*w)
}

func (l *lanes) ruler(p pane.Pen, t theme, now time.Duration) {
	step := time.Second
	for l.length/step > time.Duration(p.W/6) {
		step *= 2
	}
	p.Fill(0, 0, p.W, t.Dim)
	for x := range p.W {
		p.Set(x, 0, '─', t.Dim)
	}
	for at := time.Duration(0); at < l.length; at += step {
		p.Text(int(at*time.Duration(p.W)/l.length), 0, t.Dim, "┬"+model.FormatDuration(at))
	}
	if now >= 0 {
		p.Set(min(int(now*time.Duration(p.W)/l.length), p.W-1), 0, '▼', t.Strong)
	}
}

func (l *lanes) drawLane(p pane.Pen, t theme, ln *lane) {
	if ln.track != nil {
		l.drawTrack(p, t, ln)
	} else {
		outputForms[motion.FormOf(ln.output)].lane(l, p, t, ln)
	}
}

// drawCurve draws a value on its scale as columns of eighths.
func (l *lanes) drawCurve(p pane.Pen, t theme, ln *lane) {
	lo, hi := ln.output.Scale()
	for x := range p.W {
		v := l.stage.Value(ln.output.Name, l.time(x, p.W))
		part := 0.0
		if hi > lo {
			part = (v.Lo - lo) / (hi - lo)
		}
		l.drawColumn(p, x, part, t.Good)
	}
}

// drawColumn draws a part of the height, an eighth of a line at the least.
func (l *lanes) drawColumn(p pane.Pen, x int, part float64, style tcell.Style) {
	eighths := []rune(" ▁▂▃▄▅▆▇█")
	n := int(part*float64(8*p.H-1) + 1.5)
	for y := range p.H {
		p.Set(x, y, eighths[max(min(n-8*(p.H-1-y), 8), 0)], style)
	}
}

// drawLight draws the first pixel of a strip in its colour; the words say
// which effect plays.
func (l *lanes) drawLight(p pane.Pen, t theme, ln *lane) {
	for x := range p.W {
		r, style := t.light(colourOf(l.stage.Pixel(ln.output.Name, 0, l.time(x, p.W))))
		for y := range p.H {
			p.Set(x, y, r, style)
		}
	}
	l.drawWords(p, t.Strong, ln)
}

func (l *lanes) drawOnOff(p pane.Pen, t theme, ln *lane) {
	for x := range p.W {
		r, style := '·', t.Dim
		if l.stage.Active(ln.output.Name, l.time(x, p.W)) {
			r, style = '█', t.Good
		}
		p.Set(x, p.H-1, r, style)
	}
	for _, at := range ln.at {
		p.Set(l.column(at, p.W), p.H-1, '█', t.Good) // shorter than a column
	}
	l.drawWords(p, t.Strong, ln)
}

func (l *lanes) drawTrack(p pane.Pen, t theme, ln *lane) {
	p.Within(0, p.H-1, p.W, t.Dim, strings.Repeat("·", p.W))
	for _, at := range ln.at {
		from, to := l.column(at, p.W), l.column(at+ln.track.Length, p.W)
		for x := from; x < max(to, from+1); x++ {
			p.Set(x, p.H-1, '▬', t.Notes)
		}
		if ln.levels != nil {
			l.drawLoudness(p, t, ln.levels, at+ln.track.Latency)
			continue
		}
		p.Within(from+1, p.H-1, to-from-1, t.Notes.Reverse(true), ln.track.Name)
	}
}

// drawLoudness draws the loudness of a sound that begins at a time: in each column the
// loudest there.
func (l *lanes) drawLoudness(p pane.Pen, t theme, levels []uint8, begins time.Duration) {
	for x := range p.W {
		from := int((l.length*time.Duration(x)/time.Duration(p.W) - begins) / model.LevelTime)
		to := int((l.length*time.Duration(x+1)/time.Duration(p.W) - begins) / model.LevelTime)
		if from = max(from, 0); to >= 0 && from < len(levels) {
			loud := slices.Max(levels[from:min(max(to, from+1), len(levels))])
			l.drawColumn(p, x, float64(loud)/model.MostLevel, t.Notes)
		}
	}
}

func (l *lanes) column(at time.Duration, w int) int {
	return min(int(at*time.Duration(w)/l.length), w-1)
}

// drawWords writes what each cue says at its time, as far as the next.
func (l *lanes) drawWords(p pane.Pen, style tcell.Style, ln *lane) {
	for i, at := range ln.at {
		from, to := l.column(at, p.W), p.W
		if i+1 < len(ln.at) {
			to = l.column(ln.at[i+1], p.W)
		}
		p.Within(from, p.H-1, to-from-1, style, ln.words[i])
	}
}
