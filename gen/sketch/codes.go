package sketch

import (
	"fmt"

	"propwright/model/ir"
	"propwright/model/machine"
)

// decoders holds what the firmware needs to understand the design's codes: one
// decoder for each wave that they use.
type decoders struct {
	Waves    []wave
	Mixed    bool // there are several
	Limits   bool // one judges times by fixed limits
	Silences bool // the end of one's frames shows only by the silence after them
	Fresh    bool // it matters whether a frame's first mark follows silence
	Wholes   bool // a held button sends the same frame again
	Toggles  bool
	Early    bool // a frame has more than 32 bits
	Raw      bool

	SilenceUS, SilenceMS       int
	RawSilenceUS, RawSilenceMS int
	RawLeast, RawMost          int
}

// wave is one decoder of the firmware. A frame's bits come in at one end of a
// register: bits that are sent lowest first at the top, moving down; the
// others at the bottom, moving up. The register starts with a one at the other
// end, whose place tells how many bits have come.
type wave struct {
	*ir.Wave
	Kind     string // the template that makes its decoder
	Upper    string
	Register string // its type
	Start    string // what it holds before the first bit
	Full     string // from this value up there is no room for another bit
	Last     string // BiPhase: the same one bit earlier
	Toggle   string // the toggle's place in it, or ""

	Mark, Bare, Silent, Fresh, Early bool
	Whole                            bool // a held button sends the same frame again

	BeforeWide int    // BiPhase
	OneBegins  string // BiPhase
	Rest       string // further arguments of button_of
	NoToggle   string // a further argument of whole_frame
	Polynomial uint32
}

type button struct {
	Frame   string // the register when the frame is whole, the toggle not set
	Early   string // the bits beyond 32 that have left the register
	Wave    string
	Release uint32 // milliseconds
	Remark  string
}

var kinds = map[ir.Family]string{
	ir.PulseDistance: "distance", ir.PulseWidth: "width", ir.BiPhase: "biphase", ir.Unknown: "raw",
}

// SilenceMS returns how many milliseconds without an edge tell the firmware that a
// frame of the wave is whole: more than the wave's silence, as the loop may be
// late in handing over the last edge.
func SilenceMS(w *ir.Wave) int { return w.Silence/1000 + 3 }

// code adds a button's code and, for the first of its wave, the decoder.
func (b *builder) code(c ir.Code, note string) {
	known, _ := c.Known()
	w := known.Wave
	x := button{Wave: "PW_WAVE_" + upper(w.Name), Release: machine.ReleaseAfter(c), Remark: note}
	frame, n := c.Bits(), known.Bits()
	switch {
	case w.Family == ir.Unknown:
		frame = uint64(c.Command)
	case w.HighFirst:
		frame |= 1 << n
	case len(w.Bits) > 1: // the one that told the length is still there
		frame = frame<<(32-n) | 1<<(31-n)
	case n <= 32:
		frame <<= 32 - n
	default:
		x.Early = fmt.Sprintf("0x%04X", frame&(1<<(n-32)-1))
		frame >>= n - 32
	}
	x.Frame = fmt.Sprintf("0x%08XUL", uint32(frame))
	b.Buttons = append(b.Buttons, x)
	for i := range b.Waves {
		if b.Waves[i].Wave == w {
			return
		}
	}
	b.wave(&known, c.Resent)
}

// wave adds a decoder. Where a held button's whole frame is sent again it may be a
// repeat; the protocol's own repeat remains one, since other remotes send it.
func (b *builder) wave(p *ir.Protocol, resent bool) {
	w := p.Wave
	most := 0
	if w.Bits != nil {
		most = w.Bits[len(w.Bits)-1]
	}
	x := wave{
		Wave: w, Kind: kinds[w.Family], Upper: upper(w.Name), Register: "uint32_t",
		Bare: w.Repeat == ir.RepeatBare, Mark: w.Repeat == ir.RepeatMark,
		Silent: w.Silence > 0 && w.Family != ir.Unknown,
		Fresh:  w.Alone || w.Repeat == ir.RepeatBare || w.Family == ir.BiPhase && w.LeaderMark == 0,
		Early:  most > 32,
		Whole:  resent || w.Repeat == ir.RepeatFrame || w.Repeat == ir.RepeatToggle,
	}
	switch w.Family {
	case ir.Unknown:
		b.Raw = true
		b.RawSilenceUS, b.RawSilenceMS = w.Silence, SilenceMS(w)
		b.RawLeast, b.RawMost, x.Polynomial = ir.RawLeast, ir.RawMost, ir.RawPolynomial
	case ir.BiPhase:
		x.Full, x.Last = fmt.Sprintf("0x%XUL", 1<<most), fmt.Sprintf("0x%XUL", 1<<(most-1))
		x.BeforeWide = w.Wide - 1
		x.OneBegins = "SPACE"
		if w.OneIsMark {
			x.OneBegins = "MARK"
		}
	case ir.PulseWidth:
		x.Start, x.Full = "0x80000000UL", fmt.Sprintf("0x%XUL", 1<<(32-most)-1)
	default:
		x.Start = fmt.Sprintf("0x%08XUL", uint32(1)<<(min(most, 32)-1))
	}
	if place, ok := p.TogglePlace(); ok {
		x.Toggle = fmt.Sprintf("0x%XUL", uint32(1)<<place)
		b.Toggles = true
	}
	if x.Silent {
		b.Silences = true
		b.SilenceMS = SilenceMS(w)
	}
	b.SilenceUS = ir.Silence
	b.Limits = b.Limits || w.Family == ir.PulseDistance || w.Family == ir.PulseWidth || w.LeaderMark > 0
	b.Fresh = b.Fresh || x.Fresh
	b.Early = b.Early || x.Early
	b.Wholes = b.Wholes || x.Whole
	b.Waves = append(b.Waves, x)
}

// join works out what one decoder's calls need because of the others.
func (b *builder) join() {
	b.Mixed = len(b.Waves) > 1
	for i := range b.Waves {
		x := &b.Waves[i]
		if b.Early && !x.Early {
			x.Rest = ", 0"
		}
		if b.Mixed {
			x.Rest += ", PW_WAVE_" + x.Upper
		}
		if b.Toggles {
			x.NoToggle = ", false"
		}
	}
	b.release()
}

// release sets the release time that all codes share, or none if they differ.
func (b *builder) release() {
	for i := range b.Buttons {
		if b.Buttons[i].Release != b.Buttons[0].Release {
			b.ReleaseMS = 0
			return
		}
		b.ReleaseMS = int64(b.Buttons[i].Release)
	}
}
