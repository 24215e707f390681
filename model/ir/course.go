package ir

import "fmt"

// A Course decides, press by press, whether a button has been learned. It is
// what a wizard asks; Known are the buttons that are there already, without
// the one to be learned.
type Course struct {
	Known []Named

	doubted Code
}

// A Verdict is what has come of a press.
type Verdict struct {
	Learned bool // else the button is to be pressed again
	Code    Code
	Say     string // what was understood, what is wrong and what to do: for people
}

// Take judges the next press of the button to be learned. A doubtful code is
// learned when it comes a second time.
func (c *Course) Take(l Lesson) Verdict {
	v := Verdict{Code: l.Code, Say: l.String()}
	if l.Sure == Noise {
		return v
	}
	for _, k := range c.Known {
		if Alike(k.Code, l.Code) {
			v.Say = fmt.Sprintf("%s: the button %q sends that already (%s); press another button", l.Code, k.Name, k.Code)
			if k.Code.String() != l.Code.String() {
				v.Say = fmt.Sprintf("%s may be taken for the button %q (%s); press another button", l.Code, k.Name, k.Code)
			}
			return v
		}
	}
	again := c.doubted.Protocol != "" && c.doubted.same(l.Code)
	v.Learned = l.Sure == Certain || again
	if again && l.Code.Protocol == "raw" {
		v.Code.Address = max(l.Code.Address, c.doubted.Address)
	}
	if v.Learned && l.Sure != Certain {
		v.Say = fmt.Sprintf("%s: the same a second time", v.Code)
	}
	c.doubted = l.Code
	return v
}

// String tells a lesson: protocol, address, command, how sure it is and how
// far the times are off.
func (l Lesson) String() string {
	if l.Code.Protocol == "" {
		return l.Why
	}
	p := find(l.Code.Protocol)
	said := fmt.Sprintf("%s, address %s, command %s", l.Code.Protocol, hex(l.Code.Address, p.AddressBits), hex(l.Code.Command, p.CommandBits))
	if l.Code.Protocol == "raw" {
		said = fmt.Sprintf("a protocol not known, fingerprint %s, ", hex(l.Code.Command, 32))
		if l.Code.Address == 0 {
			said += "sent once"
		} else {
			said += fmt.Sprintf("repeated every %d ms", l.Code.Address)
		}
	}
	if l.Code.Resent {
		said += ", sent again whole while the button is down"
	}
	said += fmt.Sprintf(" (%s: %s", l.Sure, l.Why)
	if l.Code.Protocol != "raw" {
		said += fmt.Sprintf("; times off by %.0f %% of the unit, at most %d µs; marks %+d µs", 100*l.Mean, abs(l.Worst), l.Stretch)
	}
	return said + ")"
}
