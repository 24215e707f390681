package live

import (
	"fmt"
	"io"
	"math/rand/v2"
	"time"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
)

// A Prop is what is known of a running prop from its reports.
type Prop struct {
	study *check.Study
	mark  uint16
	line  io.Writer

	State string        // "": not told yet
	There bool          // it has told something
	At    time.Duration // since its power-up, when it told something last
	log   []Told        // since the last power-up that was told

	next      uint8 // the count that the next line should have
	heardOf   time.Time
	silent    bool // that it says nothing was told
	dropped   uint32
	edgesLost uint32
	early     uint32 // the first bits of a frame that is told of next
	stranger  Told   // the last frame that was no button's

	strange     int       // bytes that were not the prop's, and not told of yet
	strangeSaid time.Time // when they were told of last

	number int // of the last press that was sent
	wanted *wanted
}

// wanted is a press that the prop has not yet said it has taken.
type wanted struct {
	button int
	tries  int
	again  time.Time
}

// How long a prop has to answer a press, and how often it is sent; and how long a
// prop that tells something every second may say nothing.
const (
	patience = 500 * time.Millisecond
	mostTry  = 4
	silence  = 3500 * time.Millisecond
	noisy    = 2 * time.Second // between two sentences about noise

	// pause is between the halves of a press: the firmware reads the UART at least
	// once in a frame, and three bytes wait there.
	pause = 25 * time.Millisecond
)

// NewProp returns a prop of a design at a serial line.
func NewProp(s *check.Study, line io.Writer, now time.Time) *Prop {
	return &Prop{study: s, mark: sketch.LiveMark(s.Program), line: line, number: rand.IntN(16), heardOf: now}
}

// CanTell says why a design's firmware does not tell what goes on.
func CanTell(s *check.Study) error {
	if !s.Prop.Live {
		return fmt.Errorf("the firmware of %s tells nothing: write live = true below [prop], then propwright flash %[1]s", s.File)
	}
	_, err := sketch.Files(s)
	return err
}

// A MarkError means that the firmware was made from another design.
type MarkError struct{ File string }

func (e *MarkError) Error() string {
	return fmt.Sprintf("the firmware on the board was not built from %s as it is now: its states or events are others; build and flash it again, or name the design that it was built from", e.File)
}

// Take takes in what a Reader returns, and returns sentences about what is new. The
// error is a MarkError.
func (p *Prop) Take(t Told, strange int, now time.Time) ([]string, error) {
	var said []string
	say := func(format string, args ...any) { said = append(said, fmt.Sprintf(format, args...)) }
	if p.strange += strange; p.strange > 0 && now.Sub(p.strangeSaid) > noisy {
		say("%d bytes came that are not the prop's: noise on the line, another firmware, or another baud rate", p.strange)
		p.strange, p.strangeSaid = 0, now
	}
	if t.What == 0 {
		return said, nil
	}
	p.heardOf, p.silent, p.At = now, false, t.At
	if t.What == 'H' || t.What == 'B' {
		if uint16(t.Value>>16) != p.mark {
			return nil, &MarkError{File: p.study.File}
		}
	}
	if t.What == 'H' {
		p.next, p.log, p.dropped, p.edgesLost = t.count, nil, 0, 0
	}
	switch lost := t.count - p.next; {
	case !p.There || lost == 0 || lost >= 128:
	case lost == 1:
		say("1 thing that the prop told was lost on the way")
	default:
		say("%d things that the prop told were lost on the way", lost)
	}
	p.next, p.There = t.count+1, true
	if t.What != 'B' || len(p.log) == 0 || p.log[len(p.log)-1].What != 'B' {
		p.log = append(p.log, t)
	} else {
		p.log[len(p.log)-1] = t // of beats in a row the last tells how long it was quiet
	}
	switch t.What {
	case 'H':
		say("%s", restarted(t.Which))
	case 'S':
		p.State = p.state(t.Which)
		say("state %s", p.State)
	case 'B':
		if s := p.state(t.Which); s != p.State { // the line that told it was lost
			p.State = s
			say("state %s", s)
		}
		if n := t.Value >> 8 & 0xFF; n > p.dropped {
			say("%d events dropped: more came than eight at a time", n-p.dropped)
			p.dropped = n
		}
		if n := t.Value & 0xFF; n > p.edgesLost {
			say("%d edges of the remote lost, and with them frames: the loop was too late to take them", n-p.edgesLost)
			p.edgesLost = n
		}
	case 'E':
		if t.Which < len(p.study.Program.Events) {
			say("heard %s", p.study.Program.Events[t.Which])
		}
	case 'L':
		say("the loop was held up for %d ms: does a hook wait?", t.Value)
	case 'Y':
		p.early = t.Value
	case 'X':
		if t.Which != p.stranger.Which || t.Value != p.stranger.Value || t.At-p.stranger.At > time.Second { // not the same button, kept down
			say("heard a stranger: %s, which is no button's", p.frame(t))
		}
		p.stranger = t
	case 'K':
		if w := p.wanted; w != nil && w.button == t.Which {
			p.wanted = nil
			if t.Value == 0 && w.tries == 1 { // its number was that of a press before, or eight events were waiting
				return said, p.Press(p.study.Remote.Buttons[w.button].Name, now)
			}
		}
	}
	return said, nil
}

func (p *Prop) state(i int) string {
	if i < len(p.study.States) {
		return p.study.States[i].Name
	}
	return fmt.Sprintf("number %d", i)
}

// frame returns a frame's code or, where that is not known, what the decoder made of it.
func (p *Prop) frame(t Told) string {
	if c, ok := sketch.Heard(p.study, t.Which, t.Value, uint16(p.early)); ok {
		return c.String()
	}
	return fmt.Sprintf("a frame 0x%08x", t.Value)
}

// restarted says why a chip has started, from its MCUSR: Microchip, "ATmega48A/PA/
// 88A/PA/168A/PA/328/P" data sheet, DS40002061, section "MCU Status Register".
func restarted(mcusr int) string {
	for _, cause := range []struct {
		bit  int
		text string
	}{
		{1 << 3, "restarted by its watchdog: for a second the loop did not come round, so a hook never returned"},
		{1 << 2, "restarted because its voltage fell: is the supply strong enough?"},
		{1 << 1, "restarted by its reset pin, as when the port is opened"},
		{1 << 0, "powered up"},
	} {
		if mcusr&cause.bit != 0 {
			return cause.text
		}
	}
	return "started; the boot loader does not say why"
}

// Press sends a press of a button. Its effect is reported like that of a press on the
// remote; Tick sends it again if the prop does not answer.
func (p *Prop) Press(name string, now time.Time) error {
	i, ok := p.study.Program.Button(name)
	if !ok {
		near := model.Nearest(name, p.study.Names(model.SortButton))
		if near != "" {
			return fmt.Errorf("the remote has no button %q; did you mean %q?", name, near)
		}
		return fmt.Errorf("the remote has no button %q", name)
	}
	p.number = (p.number + 1) % 16
	p.wanted = &wanted{button: i}
	return p.send(now)
}

// Waiting reports whether a press has been sent that the prop has not answered.
func (p *Prop) Waiting() bool { return p.wanted != nil }

func (p *Prop) send(now time.Time) error {
	p.wanted.tries++
	p.wanted.again = now.Add(patience)
	half := press(p.number, p.wanted.button)
	if _, err := p.line.Write(half); err != nil {
		return closed(err)
	}
	time.Sleep(pause)
	if _, err := p.line.Write(half); err != nil {
		return closed(err)
	}
	return nil
}

// Tick reports what is overdue, and sends again what was not answered. Call it a few
// times a second.
func (p *Prop) Tick(now time.Time) (said []string, err error) {
	if w := p.wanted; w != nil && now.After(w.again) {
		if w.tries < mostTry {
			return nil, p.send(now)
		}
		p.wanted = nil
		return []string{fmt.Sprintf("the prop did not take the press of %s", p.study.Remote.Buttons[w.button].Name)}, nil
	}
	if now.Sub(p.heardOf) > silence && !p.silent {
		p.silent = true
		if p.There {
			return []string{"the prop says nothing any more: is it still powered and connected?"}, nil
		}
		return []string{"the prop says nothing: is its firmware built with live = true below [prop], and flashed to the board on this port?"}, nil
	}
	return nil, nil
}
