// Package wiring plans how a prop is connected: what leads to which pin, the
// parts in between, and how everything is fed, through which fuse.
//
// It knows the usual parts of such circuits, by kind of output. It refuses to
// know what an output does, and which pin can do what (model/board).
//
// Values without a source of their own are common practice, no published source.
// A plan is no substitute for the data sheets of the parts at hand.
package wiring

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"propwright/model"
	"propwright/model/board"
	"propwright/model/check"
	"propwright/model/motion"
)

// A Plan is how a prop is connected.
type Plan struct {
	Title string
	Board string
	Buses []model.Bus
	Wires []Wire // by their pins' numbers, then those of expanders by address and channel
	Feeds []Feed
	Notes []string // what Wire.Notes and Feed.Notes number, from 1
}

// A Wire leads from a pin, or from a channel of an expander, to a part.
type Wire struct {
	Pin    int
	Bus    model.Bus // of the expander; 0: the wire is on a pin
	Analog string    // the pin by the name printed beside it, as "A0"; "" where that is its number
	Port   string    // the pin by its data sheet name, as "PB1"; "" where the chip is not known
	Part   string    // the output's name, "receiver" or the input's name
	What   string    // what it is
	Series string    // what the wire leads through, near the part; ""
	Pull   string    // where a resistor of 10 kΩ holds the pin while nothing drives it, "5 V" or "ground"; ""
	Feed   string    // which feed the part is on, by its name; ""
	Notes  []int
}

// A Feed is a supply of parts: the board, the motors or the lights.
type Feed struct {
	Name  string
	What  string
	Notes []int
}

// Names of feeds, as wires name them.
const (
	fromBoard = "5 V"
	motors    = "motors"
	lights    = "lights"
)

// A fitting says how a part is usually connected.
type fitting struct {
	series, feed string
	pulled       bool // to the level at which it rests
	note         string
}

// The highest supply of WS2812-class pixels: Worldsemi, WS2812B data sheet,
// "Absolute Maximum Ratings", VDD. The chips' pins: Microchip, DS40002061,
// "Electrical Characteristics", 40 mA at the most, and 20 mA in its tests.
const mostPixelVolts = 5.3

var fittings = map[model.OutputKind]fitting{
	model.KindServo: {feed: motors, pulled: true,
		note: "A servo has its own feed, never the board's 5 V. The 10 kΩ keep its signal quiet until the sketch runs."},
	model.KindSpinner: {feed: motors, pulled: true,
		note: "A servo has its own feed, never the board's 5 V. The 10 kΩ keep its signal quiet until the sketch runs."},
	model.KindPixels: {series: "470 Ω", feed: lights, pulled: true,
		note: "The 470 Ω are close to the first pixel; 1000 µF are across the strip's feed where it begins. Connect ground first."},
	model.KindPulse: {series: "1 kΩ", pulled: true,
		note: "A pulse leads to a trigger input, such as a sound board's; the 10 kΩ keep it at rest until the sketch runs. The 1 kΩ protect an input of 3.3 V."},
	model.KindMessage: {series: "1 kΩ", pulled: true,
		note: "The message pin leads to the other side's receive pin; the 1 kΩ protect an input of 3.3 V."},
	model.KindSwitch: {pulled: true,
		note: "A pin gives at most 20 mA. Anything more goes through a logic-level transistor or a driver, and a coil or a motor needs a diode across it; the 10 kΩ keep it off until the sketch runs."},
}

const (
	receiverNote       = "The receiver's feed comes through 100 Ω, with 4.7 µF across its feed and ground close to it."
	pulledUpNote       = "The switch is between the pin and ground; the chip pulls the pin up. Where its leads are longer than a hand, 100 nF across the pin and ground keep interference out."
	drivenNote         = "The sensor drives the pin to 5 V at the most; the 10 kΩ hold it low where a lead is broken."
	expandedSwitchNote = "A channel gives 10 mA and takes 25 mA (NXP, PCA9685, rev. 4, section 1); for anything more a pin's rules hold: a transistor or a driver."
	channelNote        = "An expander's outputs are low from power-up until the sketch has set it up, and stay as they are when the board fails. V+ feeds the servos on it, behind the fuse; for more than a few ampere lead their feed past the expander."
	busNote            = "SDA and SCL lead to every expander. Each is held by 10 kΩ once, which many expander boards have on them; where leads are longer than a hand, by 4.7 kΩ (for a rise within 1 µs: NXP, UM10204, section 7.1). They keep away from the servos' leads. VCC and ground of an expander come from the board."
	clockNote          = "An expander's oscillator is 25 MHz, and its data sheet gives no tolerance (NXP, PCA9685, rev. 4). Where it is off by some per cent, so is every pulse: find us_at_min and us_at_max, stop_us and full_us on this very expander, and again when it is replaced."
	busyNote           = "The sound board pulls its busy output low while it plays; the 1 kΩ protect a board of 3.3 V from the chip's pull-up."
	soundNote          = "A sound board with a speaker draws more than the board's 5 V gives: feed it separately, as its data sheet says. The currents here do not include it."
	fuseNote           = "The fuse is beside the supply, before all else, and the wires behind it carry what it carries. Measure the feed before the first part is on it. 1000 µF are across the feed close to the servos."
	groundNote         = "All grounds are joined: the board's, the feeds' and every part's, a sound board's too."
)

// New makes the plan of a design.
func New(d *model.Design) *Plan {
	connected := len(d.Inputs) // what comes after them are busy pins of sound boards
	d = d.Wired()
	b, _ := board.ByName(d.Prop.Board)
	p := &Plan{Title: d.Prop.Called(), Board: d.Prop.Board, Buses: d.Buses()}
	if len(d.Remote.Buttons) > 0 {
		p.wire(b, d.Remote.Pin, Wire{Part: "receiver", What: "infrared receiver", Feed: fromBoard}, receiverNote)
	}
	for i := range d.Inputs {
		in := &d.Inputs[i]
		switch {
		case i >= connected:
			p.wire(b, in.Pin, Wire{Part: in.Name, What: "sound board's busy output", Series: "1 kΩ"}, busyNote)
		case in.Pull == model.PullNone:
			p.wire(b, in.Pin, Wire{Part: in.Name, What: "input, driven high", Pull: "ground"}, drivenNote)
		default:
			p.wire(b, in.Pin, Wire{Part: in.Name, What: "input, switch to ground"}, pulledUpNote)
		}
	}
	for i := range d.Outputs {
		o := &d.Outputs[i]
		f := fittings[o.Kind]
		w := Wire{Part: o.Name, What: string(o.Kind), Series: f.series, Feed: f.feed}
		if f.pulled {
			w.Pull = "ground"
		}
		if o.Kind == model.KindMessage || o.Active == model.Low { // an idle line is high
			w.Pull = "5 V"
		}
		if o.Chip != "" {
			w.What = fmt.Sprintf("sound board, %s", o.Chip)
		}
		if o.Active == model.Low {
			w.What += ", active low"
		}
		if o.Bus == 0 {
			p.wire(b, o.Pin, w, f.note)
			if o.Chip != "" {
				last := &p.Wires[len(p.Wires)-1]
				last.Notes = append(last.Notes, p.note(soundNote))
			}
			continue
		}
		w.Pin, w.Bus, w.Port, w.Pull = o.Channel, o.Bus, "", ""
		w.Notes = []int{p.note(channelNote), p.note(clockNote)}
		if o.Kind == model.KindSwitch {
			w.Notes = []int{p.note(channelNote), p.note(expandedSwitchNote)}
		}
		p.Wires = append(p.Wires, w)
	}
	p.bus(b)
	slices.SortStableFunc(p.Wires, func(a, b Wire) int { return cmp.Or(cmp.Compare(a.Bus, b.Bus), a.Pin-b.Pin) })
	p.feeds(d)
	return p
}

// bus adds what leads to the expanders, where there are any.
func (p *Plan) bus(b *board.Board) {
	if p.Buses == nil {
		return
	}
	jumpers := make([]string, len(p.Buses))
	for i, bus := range p.Buses {
		jumpers[i] = fmt.Sprintf("0x%02x: %s", uint8(bus), jumpersOf(bus))
	}
	address := p.note("The jumpers of an expander set its address: " + strings.Join(jumpers, "; ") + ".")
	sda, scl := b.I2C()
	p.wire(b, sda.Number, Wire{Part: "expander", What: "SDA of PCA9685", Pull: fromBoard, Feed: fromBoard}, busNote)
	p.wire(b, scl.Number, Wire{Part: "expander", What: "SCL of PCA9685", Pull: fromBoard}, busNote)
	for i := range p.Wires[len(p.Wires)-2:] {
		w := &p.Wires[len(p.Wires)-2+i]
		w.Notes = append(w.Notes, address)
	}
}

// jumpersOf says which of an expander's address jumpers are closed.
func jumpersOf(bus model.Bus) string {
	var closed []string
	for bit := range 6 {
		if bus>>bit&1 == 1 {
			closed = append(closed, fmt.Sprintf("A%d", bit))
		}
	}
	if closed == nil {
		return "none closed"
	}
	return strings.Join(closed, ", ") + " closed"
}

// wire adds a wire to a pin, with a note for its kind and one where the boot
// loader moves the pin.
func (p *Plan) wire(b *board.Board, pin int, w Wire, note string) {
	w.Pin, w.Analog = pin, b.AnalogName(pin)
	if at, ok := b.Pin(pin); ok && !b.Portable {
		w.Port = fmt.Sprintf("P%c%d", at.Port, at.Bit)
	}
	w.Notes = []int{p.note(note)}
	if does := b.Boot(pin); does != "" {
		w.Notes = append(w.Notes, p.note(fmt.Sprintf("Pin %d %s: unplug this lead while you upload, and see what a reset does.", pin, does)))
	}
	p.Wires = append(p.Wires, w)
}

// note returns the number of a note, which is added where it is new.
func (p *Plan) note(text string) int {
	if k := slices.Index(p.Notes, text); k >= 0 {
		return k + 1
	}
	p.Notes = append(p.Notes, text)
	return len(p.Notes)
}

// fuses are the ratings of blade fuses in ampere, from memory: ISO 8820-3.
var fuses = []float64{1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30}

// feeds adds what feeds the board and its parts.
func (p *Plan) feeds(d *model.Design) {
	small := "the receiver"
	if len(p.Buses) > 0 {
		small += ", the expanders' VCC"
	}
	p.Feeds = []Feed{{Name: fromBoard, What: "from the board, which has a feed of its own: for " + small + " and nothing that draws more", Notes: []int{p.note(groundNote)}}}
	volts := d.Supply.Volts
	on := func(name string) bool {
		return slices.ContainsFunc(p.Wires, func(w Wire) bool { return w.Feed == name })
	}
	if !on(motors) && !on(lights) {
		return
	}
	main := Feed{Name: motors, What: supply(d), Notes: []int{p.note(fuseNote)}}
	if !on(motors) {
		main.Name = lights
	}
	if peak := check.PeakMA(d); d.Supply.MaxMA > 0 && peak > float64(d.Supply.MaxMA) {
		main.Notes = append(main.Notes, p.note(fmt.Sprintf("The supply gives %s, which is too little.", ampere(float64(d.Supply.MaxMA)))))
	}
	if on(motors) && volts > 6 {
		main.Notes = append(main.Notes, p.note(fmt.Sprintf("Many servos stand 6 V at the most: see that yours stand %g V, or put a regulator in between.", volts)))
	}
	p.Feeds = append(p.Feeds, main)
	if !on(lights) {
		return
	}
	var strips float64
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Kind == model.KindPixels {
			strips += motion.Draws(o, model.Colour{R: 255, G: 255, B: 255}) * float64(o.Count)
		}
	}
	switch {
	case volts > mostPixelVolts:
		p.Feeds = append(p.Feeds, Feed{Name: lights, What: fmt.Sprintf("5 V from a regulator for %s or more, behind the same fuse", ampere(strips)),
			Notes: []int{p.note(fmt.Sprintf("Pixels stand %g V at the most (WS2812B data sheet, absolute maximum ratings).", mostPixelVolts))}})
	case on(motors):
		p.Feeds = append(p.Feeds, Feed{Name: lights, What: "from the same fuse, with wires of their own"})
	}
}

// supply returns what feeds the motors, or the lights where there are none.
func supply(d *model.Design) string {
	volts := "the volts that the parts need"
	if d.Supply.Volts > 0 {
		volts = fmt.Sprintf("%g V", d.Supply.Volts)
	}
	volts += ", a switch within reach, then a fuse "
	for i := range d.Outputs {
		if o := &d.Outputs[i]; fittings[o.Kind].feed == motors && o.StallMA == 0 {
			return volts + fmt.Sprintf("for all stall currents together: that of %q is not known, nor of what else lacks stall_ma", o.Name)
		}
	}
	peak := check.PeakMA(d)
	k := slices.IndexFunc(fuses, func(a float64) bool { return 1000*a >= peak })
	if k < 0 {
		return volts + fmt.Sprintf("each for a part of the prop: at most %s are drawn at once, more than one fuse should carry", ampere(peak))
	}
	return volts + fmt.Sprintf("of %g A: at most %s are drawn at once", fuses[k], ampere(peak))
}

// ampere returns a current of so many milliampere, rounded up to a tenth.
func ampere(ma float64) string { return fmt.Sprintf("%.1f A", math.Ceil(ma/100)/10) }
