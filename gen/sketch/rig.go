package sketch

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/board"
	"propwright/model/machine"
	"propwright/model/motion"
)

type servo struct {
	Name                           string
	P                              place
	Lowest, Highest, Rest, Fastest int
	Remark                         string
}

type strip struct {
	Name      string
	P         place
	FirstByte int
	Count     int
}

// pulse is a pulse output or a switch.
type pulse struct {
	Name   string
	P      place
	Active model.Level
	Hold   uint32
}

type message struct {
	At     int
	Bytes  string
	Remark string
}

// ticks is a pulse width in half microseconds.
func ticks(us float64) int { return int(math.Round(2 * us)) }

// width is the pulse width that puts an output to a value, in half microseconds.
func width(o *model.Output, value float64) int {
	return ticks(motion.Width(o, motion.Range{Lo: value, Hi: value}).Lo)
}

func (b *builder) rig() {
	for i := range b.d.Outputs {
		o := &b.d.Outputs[i]
		p, ok := b.pin(o.At("pin"), o.Pin, board.Use(o.Kind), remark(o.Name+", "+string(o.Kind), o.Note))
		if !ok {
			continue
		}
		switch o.Kind {
		case model.KindServo, model.KindSpinner:
			b.servo(o, p)
		case model.KindPixels:
			b.stripOf[o.Name] = len(b.Strips)
			b.Strips = append(b.Strips, strip{o.Name, p, b.PixelBytes, o.Count})
			b.PixelBytes += 3 * o.Count
			b.output(p, o, false)
		case model.KindPulse:
			b.pulseOf[o.Name] = len(b.Pulses)
			b.Pulses = append(b.Pulses, pulse{o.Name, p, o.Active, machine.Millis(o.Hold)})
			b.output(p, o, o.Active == model.Low)
		case model.KindSwitch:
			b.switchOf[o.Name] = len(b.Switches)
			b.Switches = append(b.Switches, pulse{o.Name, p, o.Active, 0})
			b.output(p, o, o.Active == model.Low)
		case model.KindMessage:
			b.messages(o)
		}
	}
	sort.Strings(b.Wiring)
}

func (b *builder) output(p place, o *model.Output, high bool) {
	if b.board.Portable {
		if o.Kind != model.KindPulse && o.Kind != model.KindSwitch {
			return // the core's libraries set up their pins themselves
		}
		if high {
			b.setup("digitalWrite(%d, HIGH); /* %s, at rest high */", p.Number, o.Name)
		}
		b.setup("pinMode(%d, OUTPUT); /* %s */", p.Number, o.Name)
		return
	}
	if high {
		b.setup("PORT%c |= _BV(%d); /* pin %d: %s, at rest high */", p.Pin.Port, p.Bit, p.Number, o.Name)
	}
	b.setup("DDR%c |= _BV(%d); /* pin %d: %s */", p.Pin.Port, p.Bit, p.Number, o.Name)
}

func (b *builder) servo(o *model.Output, p place) {
	s := servo{Name: o.Name, P: p}
	if o.Kind == model.KindSpinner {
		reach := o.FullUs - o.StopUs
		s.Lowest, s.Highest = ticks(float64(o.StopUs-reach)), ticks(float64(o.StopUs+reach))
		if reach < 0 {
			s.Lowest, s.Highest = s.Highest, s.Lowest
		}
		s.Rest = ticks(float64(o.StopUs))
		s.Remark = remark(o.Name, fmt.Sprintf("stands at %d us", o.StopUs))
	} else {
		// A servo that is mounted the other way round has its longer pulse at Min.
		s.Lowest, s.Highest = ticks(float64(min(o.UsAtMin, o.UsAtMax))), ticks(float64(max(o.UsAtMin, o.UsAtMax)))
		s.Rest = width(o, float64(o.Rest))
		perDegree := 2 * math.Abs(float64(o.UsAtMax-o.UsAtMin)) / float64(o.Max-o.Min)
		if fastest := float64(o.MaxSpeed) * perDegree; fastest < math.MaxUint16 {
			s.Fastest = int(math.Floor(fastest))
			if o.MaxSpeed > 0 {
				s.Fastest = max(s.Fastest, 1)
			}
		}
		// start_move in player.c stretches a move, the longest to 4/2 of its time.
		if way := s.Highest - s.Lowest; s.Fastest > 0 && frames(2*time.Duration(way)*time.Second/time.Duration(s.Fastest)) > math.MaxUint16 {
			least := (2*float64(way)/longestMove.Seconds() + 1) / perDegree
			b.fault(o.At("max_speed"), fmt.Sprintf("choose at least %v", model.DegPerS(math.Ceil(least*10)/10)),
				"the firmware cannot count how long %s takes at %v", o.Name, o.MaxSpeed)
		}
		s.Remark = remark(o.Name, fmt.Sprintf("%v at %d us to %v at %d us", o.Min, o.UsAtMin, o.Max, o.UsAtMax))
	}
	b.servoOf[o.Name] = len(b.Servos)
	b.Servos = append(b.Servos, s)
	b.output(p, o, false)
}

func (b *builder) messages(o *model.Output) {
	for i := range o.Messages {
		m := &o.Messages[i]
		b.messageOf[m.Name] = len(b.Messages)
		var hex []string
		for _, by := range m.Bytes {
			hex = append(hex, fmt.Sprintf("0x%02X", by))
		}
		b.Messages = append(b.Messages, message{b.MessageBytes, strings.Join(hex, ", "), remark(m.Name, m.Note)})
		b.MessageBytes += len(m.Bytes)
	}
	if b.board.Portable {
		b.setup("Serial1.begin(%d); /* %s */", o.Baud, o.Name)
		return
	}
	divisor, double, off := uart(b.board.ClockHz, o.Baud)
	if math.Abs(off) > mostBaudOff {
		way := "slower"
		if off > 0 {
			way = "faster"
		}
		b.fault(o.At("baud"), fmt.Sprintf("choose a rate that it can, such as %s, and set the other side to the same", ratesNear(b.board.ClockHz, o.Baud)),
			"the UART of the %s sends %.1f %% %s than %d baud: the other side misreads that",
			b.board.Name, math.Abs(off)*100, way, o.Baud)
		return
	}
	u := b.UART
	b.setup("UBRR%d = %d; /* %d baud */", u, divisor, o.Baud)
	if double {
		b.setup("UCSR%dA = _BV(U2X%d);", u, u)
	} else {
		b.setup("UCSR%dA = 0; /* where the boot loader may have left U2X%d on */", u, u)
	}
	b.setup("UCSR%dC = _BV(UCSZ%d1) | _BV(UCSZ%d0); /* 8 bits, no parity, one stop bit */", u, u, u)
	b.setup("UCSR%dB = _BV(TXEN%d);", u, u)
}
