package sketch

import (
	"fmt"
	"slices"

	"propwright/model"
	"propwright/model/board"
	"propwright/model/motion"
)

// expander is a PWM expander on the I²C bus.
type expander struct{ model.Bus }

func (x expander) Address() int { return int(x.Bus) }

// channel is a channel of an expander that an output is on.
type channel struct {
	Name     string
	Terminal string
	Expander int // in firmware.Expanders
	Channel  int // of the expander
	Switched bool
	Number   int // in firmware.Channels
}

// channel finds an output's channel and notes in the sketch's header what is
// wired to it.
func (b *builder) channel(o *model.Output, wired string) (place, bool) {
	if why := b.board.CannotExpand(); why != "" {
		b.fault(o.At("bus"), "see the board's pins", "%s", why)
		return place{}, false
	}
	if o.Active == model.Low {
		b.fault(o.At("active"), "leave active out, or connect it to a pin", "a channel of an expander is low from power-up: %s would be on", o.Name)
		return place{}, false
	}
	x := slices.Index(b.Expanders, expander{o.Bus})
	if x < 0 {
		x = len(b.Expanders)
		b.Expanders = append(b.Expanders, expander{o.Bus})
		sda, scl := b.board.I2C()
		if x == 0 {
			b.Wiring = append(b.Wiring, fmt.Sprintf("pin %2d: SDA of the expanders", sda.Number), fmt.Sprintf("pin %2d: SCL of the expanders", scl.Number))
		}
	}
	b.Wiring = append(b.Wiring, fmt.Sprintf("%v channel %2d: %s", o.Bus, o.Channel, wired))
	c := &channel{Name: o.Name, Terminal: o.Terminal(), Expander: x, Channel: o.Channel, Switched: motion.FormOf(o) == motion.OnOff}
	b.Channels = append(b.Channels, c)
	return place{Channel: c}, true
}

// numberChannels puts the channels of servos before those of switches.
func (b *builder) numberChannels() {
	slices.SortStableFunc(b.Channels, func(x, y *channel) int {
		switch {
		case x.Switched == y.Switched:
			return 0
		case y.Switched:
			return -1
		}
		return 1
	})
	for i, c := range b.Channels {
		c.Number = i
	}
}

// Direct returns the servos on pins.
func (f *firmware) Direct() (direct []servo) {
	for _, s := range f.Servos {
		if s.P.Channel == nil {
			direct = append(direct, s)
		}
	}
	return direct
}

// Expanded returns the number of servos on expanders.
func (f *firmware) Expanded() int { return len(f.Servos) - len(f.Direct()) }

// Switched returns the number of switches on expanders.
func (f *firmware) Switched() int { return len(f.Channels) - f.Expanded() }

// DirectSwitches returns the number of switches on pins.
func (f *firmware) DirectSwitches() int { return len(f.Switches) - f.Switched() }

// Prescale returns the prescaler with which an expander's cycle lasts a frame.
func (f *firmware) Prescale() int { return board.ExpanderPrescale }

// Register returns the address of the channel's LEDn_OFF_L (NXP,
// PCA9685 product data sheet, rev. 4, section 7.3.3).
func (c *channel) Register() int { return 8 + 4*c.Channel }

// ServoPlaces returns where each servo is: its number among those on pins, or its
// channel.
func (f *firmware) ServoPlaces() (places []string) {
	pins := 0
	for _, s := range f.Servos {
		at := fmt.Sprintf("%d,", pins)
		if c := s.P.Channel; c != nil {
			at = fmt.Sprintf("ON_EXPANDER | %d,", c.Number)
		} else {
			pins++
		}
		places = append(places, fmt.Sprintf("%s /* %s */", at, s.Name))
	}
	return places
}
