package trace

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/motion"
)

// A column is a heading, with its unit in brackets, and what a row says.
type column struct {
	head string
	cell func(frame int) string
}

// CSV writes a row for each frame (RFC 4180, lines end in \n). Columns have
// their unit in the head. What chance has a part in is written as lo..hi. What
// happens between two frames is in the row of the later one.
func (t *Trace) CSV() ([]byte, error) {
	columns := t.columns()
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	row := make([]string, len(columns))
	for i, c := range columns {
		row[i] = c.head
	}
	w.Write(row) // an error stays in w
	for f := range t.frames {
		for i, c := range columns {
			row[i] = c.cell(f)
		}
		w.Write(row)
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

func (t *Trace) columns() []column {
	all := []column{{"time [s]", func(f int) string { return fmt.Sprintf("%.2f", at(f).Seconds()) }}}
	if t.log != nil {
		all = append(all, t.events()...)
	}
	for i := range t.design.Outputs {
		all = append(all, t.output(&t.design.Outputs[i])...)
	}
	if t.design.Tracks != nil {
		sounds := t.sounds()
		all = append(all, column{"sound", func(f int) string {
			var names []string
			for _, h := range sounds {
				if h.From <= at(f) && at(f) < h.To {
					names = append(names, h.Track)
				}
			}
			return strings.Join(names, "; ")
		}})
	}
	return append(all, column{"all [mA]", func(f int) string { return written(t.current(f), 1) }})
}

// events returns the columns of the state and of what the prop took notice of.
func (t *Trace) events() []column {
	return []column{
		{"state", func(f int) (state string) {
			for _, e := range t.log {
				if e.At <= at(f) {
					state = e.State
				}
			}
			return state
		}},
		{"heard", func(f int) string {
			var causes []string
			for _, e := range t.log {
				if since(e.At, f) {
					causes = append(causes, e.Cause)
				}
			}
			return strings.Join(causes, "; ")
		}},
	}
}

// since reports whether a time is of a frame: after the one before it.
func since(x time.Duration, frame int) bool { return x <= at(frame) && x > at(frame-1) }

// output returns the columns of one output.
func (t *Trace) output(o *model.Output) []column {
	draws := column{o.Name + " [mA]", func(f int) string { return written(t.stage.Current(o.Name, at(f)), 1) }}
	switch motion.FormOf(o) {
	case motion.OnScale:
		value := func(f int) string { return written(t.value(o, f), 3) }
		if o.Kind == model.KindSpinner {
			return []column{{o.Name + " [rev/s]", value}, draws}
		}
		return []column{
			{o.Name + " [deg]", value},
			{o.Name + " [deg/s]", func(f int) string { return written(t.speed(o, f), 1) }},
			draws,
		}
	case motion.InLights:
		var all []column
		for i := range o.Count {
			all = append(all, column{fmt.Sprintf("%s %d [#rrggbb]", o.Name, i), func(f int) string {
				l := t.stage.Pixel(o.Name, i, at(f))
				lo, hi := hex(l, lowest), hex(l, highest)
				if lo == hi {
					return lo
				}
				return lo + ".." + hi
			}})
		}
		return append(all, draws)
	case motion.InMessages:
		return []column{{o.Name + " [sent]", func(f int) string {
			var names []string
			for _, s := range t.stage.Sent(o.Name, at(f)) {
				if since(s.At, f) {
					names = append(names, s.Message)
				}
			}
			return strings.Join(names, "; ")
		}}}
	default:
		return []column{{o.Name + " [on]", func(f int) string {
			if t.active(o, f) {
				return "1"
			}
			return "0"
		}}}
	}
}

// written returns a value with at most so many decimals.
func written(r motion.Range, decimals int) string {
	if !r.Exact() {
		return number(r.Lo, decimals) + ".." + number(r.Hi, decimals)
	}
	return number(r.Lo, decimals)
}

func number(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

func lowest(r motion.Range) float64  { return r.Lo }
func middle(r motion.Range) float64  { return (r.Lo + r.Hi) / 2 }
func highest(r motion.Range) float64 { return r.Hi }

// hex returns a light as #rrggbb, of each channel's range what pick takes.
func hex(l motion.Light, pick func(motion.Range) float64) string {
	return fmt.Sprintf("#%02x%02x%02x", int(pick(l[0])+0.5), int(pick(l[1])+0.5), int(pick(l[2])+0.5))
}
