package model

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"propwright/model/board"
	"propwright/model/tomltree"
)

// Bus is a PWM expander by its I²C address ("i2c:0x40" in a file); 0: none, the
// output is on a pin of the board.
type Bus uint8

func (b Bus) String() string {
	if b == 0 {
		return ""
	}
	return fmt.Sprintf("%s0x%02x", i2cPrefix, uint8(b))
}

const i2cPrefix = "i2c:"

// bus is the codec of a Bus, none by default. To choose from are those that the
// design has and the next address.
func bus(p *Bus) codec {
	c := scalar(p, 0, func(v *value) (Bus, error) {
		if v.Kind != tomltree.Text {
			return 0, wrongKind(v, "a bus", `write it in quotes, for example "i2c:0x40"`)
		}
		return parseBus(v.Text)
	}, func(b Bus) string { return tomltree.Quote(b.String()) }).
		hold(text("an expander as i2c:ADDRESS, from i2c:0x40 to i2c:0x77 but not i2c:0x70"))
	c.choices = func(r *reader) (list []string) {
		for _, b := range r.design.Buses() {
			list = append(list, b.String())
		}
		for b := Bus(leastBus); board.CannotBeExpander(int(b)) == ""; b++ {
			if !slices.Contains(list, b.String()) {
				return append(list, b.String())
			}
		}
		return list
	}
	return c
}

// leastBus is the address of an expander with no jumper closed.
const leastBus = 0x40

// channel is the field of the output's channel. To choose from are those of its
// expander that are free.
func channel(o *Output) field {
	c := wholeNumber(&o.Channel, 0, 0, board.ExpanderChannels-1, "")
	c.unknown = o.Bus == 0
	c.choices = func(r *reader) (list []string) {
		for _, n := range r.design.freeChannels(o.Bus, o.Channel) {
			list = append(list, strconv.Itoa(n))
		}
		return list
	}
	return may("channel", c, "3", "the expander's channel, from 0 to 15")
}

func parseBus(s string) (Bus, error) {
	digits, isI2C := strings.CutPrefix(s, i2cPrefix)
	address, err := strconv.ParseUint(digits, 0, 16)
	if !isI2C || err != nil {
		return 0, &ValueError{Wrong: fmt.Sprintf("%q is not a bus with an address", s), Advice: `write for example "i2c:0x40", the address that the expander's jumpers set`}
	}
	if why := board.CannotBeExpander(int(address)); why != "" {
		return 0, &ValueError{Wrong: fmt.Sprintf("no expander can be at 0x%02x: %s", address, why), Advice: `set its jumpers to another address, for example "i2c:0x40" with none of them closed`}
	}
	return Bus(address), nil
}

// begin notes the kind, a sound board's chip and whether a bus takes the place of
// the pin.
func (o *Output) begin(t *table) {
	o.Kind, o.Chip = OutputKind(peek(t, "kind")), SoundChip(peek(t, "chip"))
	if t.ByKey["bus"] != nil {
		o.Bus, _ = parseBus(peek(t, "bus"))
		o.Bus = max(o.Bus, 1) // one that is wrong is a bus too
	}
}

// Terminal says where the output is connected: "pin 9" or "i2c:0x40 channel 3".
func (o *Output) Terminal() string {
	if o.Bus != 0 {
		return fmt.Sprintf("%v channel %d", o.Bus, o.Channel)
	}
	return fmt.Sprintf("pin %d", o.Pin)
}

// freeChannels lists the channels of an expander that no output is on; a given one
// is listed though one is.
func (d *Design) freeChannels(on Bus, given ...int) (free []int) {
	for n := range board.ExpanderChannels {
		if slices.Contains(given, n) || !slices.ContainsFunc(d.Outputs, func(o Output) bool { return o.Bus == on && o.Channel == n }) {
			free = append(free, n)
		}
	}
	return free
}

// Buses lists the expanders that outputs are on, by address.
func (d *Design) Buses() (buses []Bus) {
	for i := range d.Outputs {
		if b := d.Outputs[i].Bus; b != 0 {
			buses = append(buses, b)
		}
	}
	slices.Sort(buses)
	return slices.Compact(buses)
}

// BusPins are the pins of the board that expanders are driven by; none where
// the design has no expander.
func (d *Design) BusPins() []int {
	b, ok := board.ByName(d.Prop.Board)
	if !ok || b.CannotExpand() != "" || d.Buses() == nil {
		return nil
	}
	sda, scl := b.I2C()
	return []int{sda.Number, scl.Number}
}
