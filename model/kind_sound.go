package model

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"propwright/model/board"
	"propwright/model/tomltree"
)

// triggerHold is how long a trigger pin is held low: Adafruit, "Audio FX Sound
// Board", page "Triggering Audio", more than about 125 ms.
const triggerHold = 200 * time.Millisecond

// KindSound is a sound board, named by its chip. What is on its pins is said by
// Design.Wired: frames on the UART, or pulses.
const KindSound OutputKind = "sound"

var sound = outputKind{
	kind:    KindSound,
	noun:    "a sound board",
	purpose: "plays tracks by number",
	called:  "voice",
	gist:    func(o *Output) string { return string(o.Chip) },
	fields: func(o *Output) []field {
		sb := o.soundBoard()
		chip := need("chip", oneOf(&o.Chip, "", SoundChips, "chip"), `"yx5200"`, "the chip on the sound board; trigger: a pin for each track")
		pins := need("pins", pinList(&o.Pins), "[4, 5, 6]", "the pins of its trigger inputs, of track 1 first; held low")
		hold := may("hold", duration(&o.Hold, triggerHold, time.Millisecond), `"250ms"`, "how long a trigger is held low")
		loud := may("volume", volume(&o.Volume, sb), "20", "how loud each track begins; without it, as the board is set")
		busy := may("busy_pin", pinNumber(&o.BusyPin, 1, board.UseInput), "7", "the pin at its busy output, low while it plays: rise and fall NAME")
		switch {
		case sb != nil && sb.volume != nil:
			return []field{chip, loud, busy}
		case sb != nil:
			return []field{chip, busy}
		case o.Chip == Triggers:
			return []field{chip, pins, hold, busy}
		}
		pins.need = false // the chip is a fault already
		return []field{chip, pins, hold, loud, busy}
	},
	first: func(o *Output) { o.Chip, o.Hold = YX5200, 0 },
	check: func(r *reader, o *Output, what string, have got) {
		for i := range r.design.Inputs {
			if in := &r.design.Inputs[i]; in.Name == o.Name && o.BusyPin > 0 {
				r.fault(o.At("busy_pin"), fmt.Sprintf("there is an input %q, and rise and fall %s mean that one", in.Name, in.Name), "give the input or the sound board another name")
			}
		}
	},

	action: func(a *Action, o *Output) []field {
		var sb *soundBoard
		if o != nil {
			sb = o.soundBoard()
		}
		return []field{
			may("volume", volume(&a.Volume, sb), "10", "how loud it is until the next track begins"),
			may("stop", yesNo(&a.Stop), "true", "true: the board falls silent"),
		}
	},
	order: func(a *Action, o *Output) ([]field, string) {
		return []field{may("louder", wholeNumber(&a.Louder, 0, -mostLouder, mostLouder, ""), "1", "by so many steps; softer: -1")}, ""
	},
	firstOrder: func(a *Action) { a.Stop, a.Louder = false, 1 },
	checkOrder: func(r *reader, s *Source, a *Action, o *Output, have got) {
		switch {
		case o.soundBoard() == nil && o.Chip != Triggers: // the chip is a fault already
		case o.soundBoard() == nil:
			r.fault(s.At("output"), fmt.Sprintf("the sound board %q has trigger pins only, and nothing can be ordered of it", o.Name), "lead to a state whose routine plays a track")
		case !r.oneOrder(s, o, "volume", "louder", "stop"):
		case have["louder"] && a.Louder == 0:
			r.fault(s.At("louder"), "louder by 0 changes nothing", "write for example louder = 1, or -1 for softer")
		case !s.States("louder"):
			checkSound(r, s, a, o, have)
		}
	},
	firstAction: func(a *Action, o *Output) { a.Stop = true },
	checkAction: checkSound,

	says: func(a *Action) string {
		switch {
		case a.Louder > 0:
			return strings.Replace(steps("louder", a.Louder), "-", " by ", 1)
		case a.Louder < 0:
			return strings.Replace(steps("softer", -a.Louder), "-", " by ", 1)
		}
		if a.Stop || a.Volume == 0 {
			return stopMessage
		}
		return fmt.Sprint("volume ", a.Volume)
	},
	track: true,
}

// checkSound checks that a sound board is asked for one thing.
func checkSound(r *reader, s *Source, a *Action, o *Output, have got) {
	sb := o.soundBoard()
	switch {
	case sb == nil && o.Chip != Triggers: // the chip is a fault already
	case sb == nil:
		r.fault(s.At("output"), fmt.Sprintf("the sound board %q has trigger pins only, and nothing can be asked of it but tracks", o.Name), `write track = "TRACK" in place of output`)
	case s.States("volume") && sb.volume == nil:
		r.fault(s.At("volume"), fmt.Sprintf("the volume of a board with the chip %s cannot be set", o.Chip), "leave it out, and make the file itself softer")
	case s.States("volume") && s.States("stop"):
		r.fault(s.At("stop"), "the cue sets the volume and stops the sound", "keep one of them")
	case have["stop"] && !a.Stop:
		r.fault(s.At("stop"), "stop = false asks nothing of the sound board", "write stop = true, or leave the cue out")
	case !s.States("volume") && !s.States("stop"):
		r.fault(s.Pos, fmt.Sprintf("the cue asks nothing of the sound board %q", o.Name), `write stop = true, or track = "TRACK" in place of output`)
	}
}

// mostLouder is how many steps of loudness one order may ask for: each is a frame.
const mostLouder = 5

// volume is how loud a board plays, 0 where that is not said; sb is nil where it
// is not known.
func volume(p *int, sb *soundBoard) codec {
	loudest := 30
	if sb != nil && sb.loudest > 0 {
		loudest = sb.loudest
	}
	return wholeNumber(p, 0, 1, int64(loudest), "")
}

// mostTracks is the number of tracks that a sound output can be asked for.
func (o *Output) mostTracks() int {
	if sb := o.soundBoard(); sb != nil {
		return sb.tracks
	}
	return len(o.Pins)
}

// pinList is a list of pins.
func pinList(p *[]int) codec {
	return codec{
		clear: func() { *p = nil },
		unset: func() bool { return len(*p) == 0 },
		read: func(r *reader, v *value) {
			if v.Kind != tomltree.Array || len(v.Items) == 0 {
				r.refuse(v.Pos, &ValueError{Wrong: "this is not a list of pins", Advice: "write their numbers in brackets, for example [4, 5, 6]"})
				return
			}
			pins := make([]int, len(v.Items))
			for i, item := range v.Items {
				pinNumber(&pins[i], 0, board.Use(KindSound)).read(r, item)
			}
			*p = pins
		},
		write: func() string {
			words := make([]string, len(*p))
			for i, pin := range *p {
				words[i] = strconv.Itoa(pin)
			}
			return "[" + strings.Join(words, ", ") + "]"
		},
		holds: text("a list of the board's pin numbers, in brackets"),
		words: &words{
			say: func() string { return strings.ReplaceAll(strings.Trim(fmt.Sprint(*p), "[]"), " ", ", ") },
			toml: func(typed string) string {
				pins := strings.FieldsFunc(typed, func(r rune) bool { return r == ' ' || r == ',' })
				for i, pin := range pins {
					if tomltree.ParseValue(pin) == nil {
						pins[i] = tomltree.Quote(pin)
					}
				}
				return "[" + strings.Join(pins, ", ") + "]"
			},
			forms: []string{"4, 5, 6"},
		},
	}
}

// rewire takes away what an output has that its chip does not, and gives a first
// pin for what the chip needs.
func (o *Output) rewire() {
	sb := o.soundBoard()
	switch {
	case sb == nil:
		if len(o.Pins) == 0 {
			o.Pins, o.Hold = []int{o.Pin}, triggerHold
		}
		o.Pin, o.Volume = 0, 0
	case len(o.Pins) > 0:
		o.Pin, o.Pins, o.Hold = o.Pins[0], nil, 0
	}
	if sb != nil && sb.volume == nil {
		o.Volume = 0
	}
	o.keep(o.fields(nil))
}
