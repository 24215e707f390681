package trace

import (
	"math"
	"regexp"
	"strings"
	"time"

	"propwright/gen/picture"
	"propwright/model"
	"propwright/model/motion"
)

// The measures of a picture in points: A4 on its side. Where a prop has so many
// outputs that this is not high enough, the picture is higher.
const (
	pageW, pageH = 842.0, 595.0
	margin       = 24.0
	plotL, plotR = 122.0, 752.0 // the time axis; names on its left, limits on its right
	titleH       = 24.0
	axisH        = 16.0
	gap          = 4.0 // between lanes
	headSize     = 11.0
	size         = 8.6 // of type
	lineH        = 10.0
	column1      = 2.0 // the narrowest column of light, and of a curve that is drawn coarser
	ink          = "#000000"
	soft         = "#505050"
	shade        = "#c8c8c8"
	grid         = "#dddddd"
)

var dashes = picture.Numbers{4, 3}

// A lane is one strip of the picture. It has its height and its share of what
// the page has left.
type lane struct {
	name, unit string
	height     float64
	share      float64
	draw       func(d *drawing, top, bottom float64)
}

type drawing struct {
	*Trace
	page   picture.Picture
	faces  picture.Faces
	shapes []any // of the lane that is being drawn
	band   bool  // a curve has one
}

// SVG draws the trace.
func (t *Trace) SVG() ([]byte, error) { return t.picture().SVG() }

// PNG draws the trace as an image, in the Go fonts.
func (t *Trace) PNG() ([]byte, error) { return t.picture().PNG() }

// PDF prints the trace on A4, also in the Go fonts.
func (t *Trace) PDF() ([]byte, error) { return t.picture().PDF() }

// Sheets says how many sheets PDF prints, and the size of the smallest type on
// them, in points.
func (t *Trace) Sheets() (n int, smallest float64) { return t.picture().Sheets() }

// Missing lists the characters that an image's font cannot write.
func (t *Trace) Missing() string { return t.picture().Missing() }

// fromRest ends the label of every picture of a routine.
const fromRest = "from rest"

// Drawn reports whether a text is a picture of a routine, as SVG writes it.
func Drawn(text []byte) bool {
	label := regexp.MustCompile(`aria-label="[^"]* ` + fromRest + `"`)
	return label.Match(text[:min(len(text), 2000)])
}

// label returns what a picture of the trace says of itself.
func (t *Trace) label() string {
	return model.Visible(t.design.Prop.Label + ": " + t.title)
}

func (t *Trace) picture() *picture.Picture {
	d := &drawing{Trace: t, faces: picture.Faces{}}
	lanes, still := t.lanes()
	need, shares := 2*margin+titleH+axisH+lineH, 0.0
	for _, l := range lanes {
		need, shares = need+l.height+gap, shares+l.share
	}
	more := max(0, pageH-need)
	d.page = picture.Picture{W: pageW, H: math.Ceil(max(pageH, need)), Label: t.label()}
	d.add(picture.Path{D: picture.Polygon(0, 0, d.page.W, 0, d.page.W, d.page.H, 0, d.page.H), Fill: "#ffffff", Stroke: "none"})
	d.words(margin, margin+headSize, "", "bold", ink, headSize, t.label())
	bottom := d.page.H - margin - axisH - lineH
	d.axis(margin+titleH, bottom)
	y := margin + titleH
	for _, l := range lanes {
		h := l.height
		if shares > 0 {
			h += min(more*l.share/shares, l.height*1.6) // few lanes do not fill a page
		}
		d.line(0.5, grid, nil, plotL, y+h, plotR, y+h)
		d.words(margin, y+size, "", "bold", ink, size, d.cut(l.name, plotL-margin-22))
		d.words(margin, y+size+lineH, "", "", soft, size, l.unit)
		l.draw(d, y, y+h)
		d.page.Figures = append(d.page.Figures, picture.Figure{Title: strings.TrimSpace(l.name + " " + l.unit), Shapes: d.shapes})
		d.shapes = nil
		y += h + gap
	}
	var notes []string
	if d.band {
		notes = append(notes, "Grey: anywhere between the two lines.")
	}
	if still != nil {
		notes = append(notes, "Without a change: "+strings.Join(still, ", "))
	}
	d.words(margin, d.page.H-margin, "", "", soft, size, d.cut(strings.Join(notes, " "), pageW-2*margin))
	d.page.Figures = append(d.page.Figures, picture.Figure{Shapes: d.shapes})
	return &d.page
}

// lanes returns the strips of the picture, and the names of the outputs that do
// not change.
func (t *Trace) lanes() (all []lane, still []string) {
	if t.log != nil {
		all = append(all, lane{name: "state", height: 24, draw: (*drawing).states})
	}
	for i := range t.design.Outputs {
		o := &t.design.Outputs[i]
		if !t.changes(o) {
			still = append(still, o.Name)
			continue
		}
		all = append(all, t.of(o)...)
	}
	for i := range t.design.Tracks {
		var heard []motion.Heard
		for _, h := range t.sounds() {
			if h.Track == t.design.Tracks[i].Name {
				heard = append(heard, h)
			}
		}
		if heard == nil {
			continue
		}
		all = append(all, lane{name: heard[0].Track, unit: "sound", height: 20, draw: func(d *drawing, top, bottom float64) {
			for _, h := range heard {
				if levels := t.loudness(heard[0].Track); levels != nil {
					d.loudness(h, levels, top, bottom)
				} else {
					d.bar(h.From, h.To, top+2, bottom-2, h.Track)
				}
			}
		}})
	}
	supply := float64(t.design.Supply.MaxMA)
	return append(all, lane{"current", "mA", 34, 3, func(d *drawing, top, bottom float64) {
		d.curve(top, bottom, 0, supply, t.current, []limit{{supply, "supply "}})
	}}), still
}

// changes reports whether an output does anything.
func (t *Trace) changes(o *model.Output) bool {
	switch motion.FormOf(o) {
	case motion.InLights:
		return len(t.stage.Asked(o.Name, t.end())) > 0
	case motion.InMessages:
		return len(t.stage.Sent(o.Name, t.end())) > 0
	}
	first := t.value(o, 0)
	for f := range t.frames {
		if t.value(o, f) != first || t.active(o, f) {
			return true
		}
	}
	return false
}

// of returns the lanes of an output.
func (t *Trace) of(o *model.Output) []lane {
	lo, hi := o.Scale()
	value := func(f int) motion.Range { return t.value(o, f) }
	switch {
	case o.Kind == model.KindSpinner:
		return []lane{{o.Name, "rev/s", 28, 2, func(d *drawing, top, bottom float64) {
			d.curve(top, bottom, lo, hi, value, []limit{{hi, ""}, {lo, ""}})
		}}}
	case motion.FormOf(o) == motion.OnScale:
		most := float64(o.MaxSpeed)
		return []lane{
			{o.Name, "deg", 28, 3, func(d *drawing, top, bottom float64) {
				d.curve(top, bottom, lo, hi, value, []limit{{hi, "max "}, {lo, "min "}})
			}},
			{"", "deg/s", 27, 2, func(d *drawing, top, bottom float64) {
				d.curve(top, bottom, -most, most, func(f int) motion.Range { return t.speed(o, f) }, []limit{{most, "limit "}, {-most, "limit "}})
			}},
		}
	case motion.FormOf(o) == motion.InLights:
		return []lane{{o.Name, "pixels from 0", 32, 1, func(d *drawing, top, bottom float64) { d.light(o, top, bottom) }}}
	case motion.FormOf(o) == motion.InMessages:
		return []lane{{o.Name, "messages", 20, 0, func(d *drawing, top, bottom float64) {
			var m marks
			for _, s := range t.stage.Sent(o.Name, t.end()) {
				m = append(m, mark{s.At, s.Message})
			}
			d.marks(m, top, bottom)
		}}}
	default:
		return []lane{{o.Name, "on", 20, 0, func(d *drawing, top, bottom float64) {
			for f := 0; f < t.frames; f++ {
				from := f
				for f < t.frames && t.active(o, f) {
					f++
				}
				if f > from {
					d.bar(at(from), at(f), top+3, bottom-3, "")
				}
			}
		}}}
	}
}

// x returns the x of a time.
func (d *drawing) x(at time.Duration) float64 {
	return plotL + (plotR-plotL)*min(1, at.Seconds()/max(d.end().Seconds(), motion.Frame.Seconds()))
}

func (d *drawing) add(shape any) { d.shapes = append(d.shapes, shape) }

func (d *drawing) words(x, y float64, anchor, weight, colour string, size float64, text string) {
	d.add(picture.Words{X: picture.Number(x), Y: picture.Number(y), Anchor: anchor, Weight: weight, Size: picture.Number(size), Fill: colour, Text: text})
}

func (d *drawing) line(width float64, colour string, dashes picture.Numbers, at ...float64) {
	d.add(picture.Path{D: picture.Line(at...), Fill: "none", Stroke: colour, Width: picture.Number(width), Dashes: dashes})
}

// cut returns a text that is no wider than w.
func (d *drawing) cut(text string, w float64) string {
	runes := []rune(text)
	for d.faces.Width(text, true, size) > w && len(runes) > 1 {
		runes = runes[:len(runes)-1]
		text = string(runes) + "…"
	}
	return text
}

// axis draws the times and their grid.
func (d *drawing) axis(top, bottom float64) {
	step := motion.Frame
	for k := 0; d.x(step)-plotL < 45; k++ { // 1, 2 and 5 times a power of ten
		step = time.Duration([]float64{1, 2, 5}[k%3] * math.Pow10(k/3) * float64(100*time.Millisecond))
		if step > 2*d.end() {
			break
		}
	}
	for at := time.Duration(0); at <= d.end(); at += step {
		d.line(0.5, grid, nil, d.x(at), top, d.x(at), bottom)
		d.words(d.x(at), bottom+size+2, "middle", "", ink, size, number(at.Seconds(), 1)+" s")
	}
	d.page.Figures = append(d.page.Figures, picture.Figure{Title: "time", Shapes: d.shapes})
	d.shapes = nil
}

// A limit is a value that is not to be passed, with a word before its number.
type limit struct {
	at   float64
	word string
}

// curve draws values on a scale that holds lo, hi and all of them. What chance
// leaves open is a grey band, and so is what changes within the narrowest column.
func (d *drawing) curve(top, bottom, lo, hi float64, value func(frame int) motion.Range, limits []limit) {
	per := max(1, int(math.Ceil(float64(d.frames)/((plotR-plotL)/column1)))) // frames of a point
	var up, down []float64
	var band bool
	points := make([]motion.Range, 0, d.frames/per+1)
	most := 0.0
	for f := 0; f < d.frames; f += per {
		r := value(f)
		for g := f + 1; g < min(f+per, d.frames); g++ {
			v := value(g)
			r.Lo, r.Hi = min(r.Lo, v.Lo), max(r.Hi, v.Hi)
		}
		points = append(points, r)
		lo, hi = min(lo, r.Lo), max(hi, r.Hi)
		most = max(most, math.Abs(r.Lo), math.Abs(r.Hi))
		band = band || !r.Exact()
	}
	if hi-lo < 1e-9 {
		hi = lo + 1
	}
	y := func(v float64) float64 { return bottom - 2 - (bottom-top-4)*(v-lo)/(hi-lo) }
	if lo < 0 && hi > 0 {
		d.line(0.5, grid, nil, plotL, y(0), plotR, y(0))
		d.words(plotL-3, y(0)+3, "end", "", soft, size, "0")
	}
	d.words(plotL-3, y(hi)+5, "end", "", soft, size, number(hi, 1))
	d.words(plotL-3, y(lo)+1, "end", "", soft, size, number(lo, 1))
	for i, l := range limits {
		if l.at == 0 && (i == 0 || l.word != "min ") {
			continue // nobody said
		}
		d.line(0.8, soft, dashes, plotL, y(l.at), plotR, y(l.at))
		d.words(plotR+3, y(l.at)+5-4*float64(i), "", "", ink, size, l.word+number(l.at, 1))
	}
	if limits[0].word == "limit " || limits[0].word == "supply " {
		d.words(plotR+3, (top+bottom)/2+3, "", "", soft, size, "peak "+number(most, 0))
	}
	for i, r := range points {
		x := d.x(at(i * per))
		up = append(up, x, y(r.Hi))
		down = append([]float64{x, y(r.Lo)}, down...)
	}
	if len(points) == 1 {
		up = append(up, plotR, up[1])
	}
	d.band = d.band || band
	if band {
		d.add(picture.Path{D: picture.Polygon(append(up, down...)...), Fill: shade, Stroke: soft, Width: 0.5})
	} else {
		d.line(1.1, ink, nil, up...)
	}
}

// light draws a strip: the first pixel on top, time to the right, and what was
// asked of it in words above. Of a flicker the colour in the middle is shown.
func (d *drawing) light(o *model.Output, top, bottom float64) {
	var m marks
	for _, a := range d.stage.Asked(o.Name, d.end()) {
		words := lightWords(a.Action)
		if a.Voice != nil {
			words += ", as loud as " + a.Voice.Follow.Track
		}
		m = append(m, mark{a.At, words})
	}
	d.marks(m, top, top+11)
	top += 11
	rows := min(o.Count, int((bottom-top)/1.2))
	columns := min(d.frames, int((plotR-plotL)/column1))
	colours := func(column int) []string {
		all := make([]string, rows)
		for i := range all {
			pixel := i * o.Count / rows
			all[i] = hex(d.stage.Pixel(o.Name, pixel, at(column*d.frames/columns)), middle)
		}
		return all
	}
	edge := func(column int) float64 { return plotL + (plotR-plotL)*float64(column)/float64(columns) }
	for c := 0; c < columns; {
		first, here := c, colours(c)
		for c++; c < columns && strings.Join(colours(c), "") == strings.Join(here, ""); c++ {
		}
		for i := 0; i < rows; {
			from := i
			for i++; i < rows && here[i] == here[from]; i++ {
			}
			l, r := edge(first), min(edge(c)+0.5, plotR) // under the next one, so that no gap is seen
			t, b := top+(bottom-top)*float64(from)/float64(rows), top+(bottom-top)*float64(i)/float64(rows)
			d.add(picture.Path{D: picture.Polygon(l, t, r, t, r, b, l, b), Fill: here[from], Stroke: "none"})
		}
	}
}

// lightWords describes a light.
func lightWords(a model.Action) string {
	s := string(a.Effect)
	if s == "" || a.Effect == model.EffectSolid {
		return a.Colour.String()
	}
	return s + " " + a.Colour.String()
}

// A mark is a time with a word.
type mark struct {
	at   time.Duration
	word string
}

type marks []mark

// marks draws a line at each time and its words behind it, where there is room
// before the next; words that no room is left for are left out.
func (d *drawing) marks(m marks, top, bottom float64) {
	for i, k := range m {
		room := plotR - d.x(k.at)
		if i+1 < len(m) {
			room = d.x(m[i+1].at) - d.x(k.at)
		}
		d.line(1, ink, nil, d.x(k.at), top, d.x(k.at), bottom)
		if d.faces.Width(k.word, false, size)+4 <= room {
			d.words(d.x(k.at)+2.5, top+size-1, "", "", ink, size, k.word)
		}
	}
}

// bar draws a stretch of time, with a word in it where it fits.
func (d *drawing) bar(from, to time.Duration, top, bottom float64, word string) {
	l, r := d.x(from), max(d.x(to), d.x(from)+1)
	d.add(picture.Path{D: picture.Polygon(l, top, r, top, r, bottom, l, bottom), Fill: shade, Stroke: soft, Width: 0.5})
	if w := d.faces.Width(word, false, size) + 5; word != "" && w <= r-l {
		d.words(l+3, (top+bottom)/2+3, "", "", ink, size, word)
	}
}

// loudness draws how loud a sound is.
func (d *drawing) loudness(h motion.Heard, levels []uint8, top, bottom float64) {
	line := []float64{d.x(h.From), bottom - 2}
	for i, level := range levels {
		from, to := h.From+time.Duration(i)*model.LevelTime, h.From+time.Duration(i+1)*model.LevelTime
		if to > min(h.To, d.end()) {
			break
		}
		y := bottom - 2 - (bottom-top-4)*float64(level)/model.MostLevel
		line = append(line, d.x(from), y, d.x(to), y)
	}
	line = append(line, line[len(line)-2], bottom-2)
	d.add(picture.Path{D: picture.Polygon(line...), Fill: shade, Stroke: soft, Width: 0.5})
}

// loudness returns a track's loudness, or nil if nothing follows the track: its file
// is not decoded for a picture alone.
func (t *Trace) loudness(track string) []uint8 {
	for i := range t.design.Outputs {
		for _, a := range t.stage.Asked(t.design.Outputs[i].Name, t.end()) {
			if a.Voice != nil && a.Voice.Follow.Track == track {
				return a.Voice.Levels
			}
		}
	}
	return nil
}

// states draws the states, and below them what the prop heard.
func (d *drawing) states(top, bottom float64) {
	half := (top + bottom) / 2
	for _, s := range d.Trace.states() {
		d.bar(s.from, s.to, top, half, s.name)
	}
	var m marks
	for _, e := range d.log {
		m = append(m, mark{e.At, e.Cause})
	}
	d.marks(m, half, bottom)
}
