package prove

import (
	"bytes"
	"fmt"
	"slices"
	"time"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/motion"
)

// A watch compares the pins of the chip's outputs with what the design asks for, up to
// the time at which that is settled.
type watch struct {
	*stand
	lines []*line
	until time.Duration // all before was looked at
	taken int           // bytes of the UART
	sent  int           // messages that were seen
	free  time.Duration // when the last of them was done
	buses map[int]*bus  // by address
	seen  sights

	sending time.Duration // that the strips take in a frame
}

// sights counts what was seen.
type sights struct{ Pulses, Refreshes, Levels, Messages int }

func (s *sights) add(more sights) {
	s.Pulses += more.Pulses
	s.Refreshes += more.Refreshes
	s.Levels += more.Levels
	s.Messages += more.Messages
}

// A line is an output on a pin.
type line struct {
	*model.Output
	taken     int // edges
	gauge     gauge
	refreshes int
	refreshed time.Duration // the last time
	known     time.Duration // until when it is known what the design asks
	active    bool          // as the design asks then
	due       []level       // what was not seen yet
}

// A bus is an expander and how much of what it was sent it has taken.
type bus struct {
	*pca9685
	taken int
}

type level struct {
	at     time.Duration
	active bool
}

// newWatch watches a stand whose chip records the outputs' pins.
func newWatch(s *stand) *watch {
	w := &watch{stand: s, buses: map[int]*bus{}}
	for i := range s.design.Outputs {
		o := &s.design.Outputs[i]
		l := &line{Output: o, gauge: gauge{sight: &onPin, Output: o, s: s}}
		if o.Bus != 0 {
			l.gauge.sight = &onExpander
			w.buses[int(o.Bus)] = &bus{pca9685: newPCA9685(s.t)}
		}
		if o.Kind == model.KindPixels {
			w.sending += time.Duration(o.Count) * 30 * time.Microsecond
		}
		w.lines = append(w.lines, l)
	}
	return w
}

// pinsOf returns the pins of the outputs that are watched.
func pinsOf(d *model.Design) (pins []int) {
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Bus == 0 && !o.Kind.HasMessages() {
			pins = append(pins, o.Pin)
		}
	}
	return pins
}

// looks say what is wrong at an output's pin, by the form of what it does.
var looks = map[motion.Form]func(w *watch, l *line, to time.Duration) (time.Duration, string){
	motion.OnScale: (*watch).pulses, motion.InLights: (*watch).refreshesOf, motion.OnOff: (*watch).levels, motion.InMessages: (*watch).messages,
}

// settled is the age from which the design's demands no longer change.
const settled = 50 * time.Millisecond

// look says what is wrong at the pins since the last call.
func (w *watch) look() (wrong string) {
	to := time.Duration(w.now())*time.Millisecond - settled
	if to <= w.until {
		return ""
	}
	for address, b := range w.buses {
		n := 0
		for _, x := range w.chip.Transfers() {
			if x.Address != address || x.End == 0 {
				continue
			}
			if n++; n > b.taken {
				b.takes(x)
			}
		}
		b.taken = n
	}
	for _, l := range w.lines {
		if when, about := looks[motion.FormOf(l.Output)](w, l, to); about != "" {
			return fmt.Sprintf("%s, %.3f s after power-up: %s", l.Name, when.Seconds(), about)
		}
	}
	w.until = to
	return ""
}

// pulses looks at the pulses whose next one has begun.
func (w *watch) pulses(l *line, to time.Duration) (time.Duration, string) {
	began := l.taken
	if l.Bus != 0 {
		all, _ := w.buses[int(l.Bus)].pulses(l.Channel, cycle(to))
		for ; l.taken < len(all); l.taken++ {
			if _, wrong := l.gauge.pulse(all[l.taken]); wrong != "" {
				return at(all[l.taken].At), wrong
			}
			w.seen.Pulses++
		}
		return to, w.none(l, began, to)
	}
	edges := w.chip.Edges(l.Pin)
	for ; l.taken+2 < len(edges); l.taken += 2 {
		up := edges[l.taken]
		if !up.High { // the level was up at power-on
			l.taken--
			continue
		}
		if at(edges[l.taken+2].At) >= to {
			break
		}
		p := bench.Pulse{At: up.At, Width: edges[l.taken+1].At - up.At, Period: edges[l.taken+2].At - up.At}
		if _, wrong := l.gauge.pulse(p); wrong != "" {
			return at(p.At), wrong
		}
		w.seen.Pulses++
	}
	return to, w.none(l, began, to)
}

// none reports missing pulses.
func (w *watch) none(l *line, began int, to time.Duration) string {
	if l.taken == began && to-w.until > 5*frame {
		return "no pulses"
	}
	return ""
}

// refreshesOf looks at every tenth refresh of a strip.
//
// A bit that is high for 0.8 µs is a one, for 0.4 a zero; a pause of 50 or more ends a
// refresh (Worldsemi, "WS2812B Intelligent control LED integrated light source", data
// transfer time).
func (w *watch) refreshesOf(l *line, to time.Duration) (time.Duration, string) {
	edges := w.chip.Edges(l.Pin)
	began := l.taken
	for {
		end := l.taken
		for end+2 < len(edges) && edges[end+2].At-edges[end+1].At < 50*bench.Microsecond {
			end += 2
		}
		if end+2 >= len(edges) || at(edges[end+1].At) >= to {
			break
		}
		if l.refreshes++; l.refreshes%10 == 1 {
			var pixels [][3]float64
			var wire [3]uint8
			bits := 0
			for i := l.taken; i <= end; i += 2 {
				wire[bits/8%3] <<= 1
				if edges[i+1].At-edges[i].At > 6*bench.Microsecond/10 {
					wire[bits/8%3] |= 1
				}
				if bits++; bits%24 == 0 {
					pixels = append(pixels, channels(l.Output, wire))
				}
			}
			now := at(edges[l.taken].At)
			if _, wrong := w.refresh(l.Output, l.refreshed, now, pixels); wrong != "" {
				return now, wrong
			}
			w.seen.Refreshes++
		}
		l.refreshed = at(edges[l.taken].At)
		l.taken = end + 2
	}
	if l.taken == began && to-w.until > 5*frame {
		return to, "nothing is sent to the strip"
	}
	return 0, ""
}

// levels looks at a pulse output or a switch.
func (w *watch) levels(l *line, to time.Duration) (time.Duration, string) {
	if l.Bus == 0 {
		return w.edges(l, w.chip.Edges(l.Pin), to)
	}
	_, edges := w.buses[int(l.Bus)].pulses(l.Channel, cycle(to+frame))
	return w.edges(l, edges, to)
}

// edges looks at the edges of a pulse output or a switch.
func (w *watch) edges(l *line, edges []bench.Edge, to time.Duration) (time.Duration, string) {
	// poweredUp is when outputs that are on from power-up are on; a shorter change than brief may not show.
	late, poweredUp, brief := late+w.sending, late+w.sending, time.Millisecond
	if l.Bus != 0 {
		late, poweredUp, brief = late+frame, 2*frame, frame
	}
	late += time.Duration(lag[w.design.Prop.Board]) * time.Millisecond
	if l.Hold > 0 {
		late += time.Millisecond // only those that are over are counted, so that none is too short
	}
	if to < poweredUp {
		return 0, ""
	}
	seen := func() level {
		e := edges[l.taken]
		return level{at(e.At), e.High == (l.Active == model.High)}
	}
	begins := l.known == 0
	for ; l.known < to+late; l.known += time.Millisecond {
		if a := w.want.Active(l.Name, l.known); a != l.active {
			l.active = a
			l.due = append(l.due, level{l.known, a})
		}
	}
	if begins {
		on, up := level{}, l.Bus == 0 && l.Active == model.Low // a pin is low
		for len(l.due) > 0 && l.due[0].at < poweredUp {
			on, l.due = l.due[0], l.due[1:]
		}
		for ; l.taken < len(edges) && seen().at < poweredUp; l.taken++ {
			up = seen().active
		}
		switch {
		case up == on.active:
		case on.at > poweredUp-late: // it may be still to come
			l.due = slices.Insert(l.due, 0, on)
		case len(l.due) == 0 || l.due[0].at > poweredUp+late:
			return 0, "it is not turned " + onOff(on.active)
		}
	}
	missed := func(before time.Duration) {
		for len(l.due) > 1 && l.due[0].at+late < before && l.due[1].at-l.due[0].at <= brief {
			l.due = l.due[2:]
		}
	}
	for l.taken < len(edges) && seen().at < to {
		e := seen()
		missed(e.at)
		asked := len(l.due) > 0 && l.due[0].active == e.active && l.due[0].at-late <= e.at
		// What is asked for twice in a millisecond may show for two. What is asked for twice
		// in a step shows at once, where another change of the kind may be due.
		if l.taken+1 < len(edges) {
			apart := edges[l.taken+1].At - edges[l.taken].At
			twice := !asked || len(l.due) == 1 || l.due[1].at-l.due[0].at > late
			if !asked && apart < 2*bench.Millisecond || twice && apart < bench.Millisecond/20 {
				l.taken += 2
				continue
			}
		}
		if !asked {
			return e.at, "it is turned " + onOff(e.active) + ", which nothing asks for"
		}
		if l.due[0].at+late < e.at {
			break
		}
		l.due = l.due[1:]
		l.taken++
		w.seen.Levels++
	}
	missed(to)
	if len(l.due) > 0 && l.due[0].at+late < to {
		return l.due[0].at, "it is not turned " + onOff(l.due[0].active)
	}
	return 0, ""
}

func onOff(active bool) string {
	if active {
		return "on"
	}
	return "off"
}

// messages looks at the bytes on the line and when each message begins.
func (w *watch) messages(l *line, to time.Duration) (time.Duration, string) {
	all := w.chip.UART()
	for _, m := range w.want.Sent(l.Name, to-late)[w.sent:] {
		takes := time.Duration(len(m.Bytes)+2) * 10 * time.Second / time.Duration(l.Baud) // two may wait
		if max(m.At, w.free)+takes+settled > time.Duration(w.now())*time.Millisecond {
			break // it is being sent, or waits for others
		}
		var got []byte
		for _, b := range all[w.taken:min(len(all), w.taken+len(m.Bytes))] {
			got = append(got, b.Value)
		}
		if !bytes.Equal(got, m.Bytes) {
			return m.At, fmt.Sprintf("the bytes % X are sent, want % X, the message %s", got, m.Bytes, m.Message)
		}
		if len(got) > 0 {
			first := at(all[w.taken].At)
			if first < m.At-late || first > max(m.At, w.free)+late {
				return first, fmt.Sprintf("the message %s is sent, want it at %.3f s", m.Message, m.At.Seconds())
			}
			last := all[w.taken+len(got)-1]
			w.free = at(last.At + 30*last.BitCycles) // two bytes may wait
		}
		w.taken += len(got)
		w.sent++
		w.seen.Messages++
	}
	if w.taken < len(all) && at(all[w.taken].At) < to-2*late && len(w.want.Sent(l.Name, to)) == w.sent {
		return at(all[w.taken].At), fmt.Sprintf("the byte %02X is sent, which nothing asks for", all[w.taken].Value)
	}
	return 0, ""
}
