package ir

// A frame of a protocol that nobody has written down is still told from
// others by its fingerprint: each mark is compared with the mark before it,
// each space with the space before it, and whether it is clearly longer,
// clearly shorter or neither goes into a CRC-32 (the polynomial of IEEE
// 802.3). So the fingerprint does not depend on the remote's exact times, it
// is worked out as the frame comes in, and a frame that has a given one can be
// made.

// raw is the wave of such frames. Its address is the repeat period in
// milliseconds, 0 for a remote that sends once, and its command the
// fingerprint.
var raw = Wave{
	Name: "raw", Family: Unknown, Carrier: 38000, Repeat: RepeatFrame, Silence: rawSilence,
	protocols: []Protocol{{
		Name: "raw", AddressBits: 16, CommandBits: 32,
		Layout: []Field{{Command, 0, 32, false}, {Address, 0, 16, false}},
	}},
}

// What the firmware must know to work out the same fingerprint.
const (
	RawPolynomial = 0xEDB88320 // of IEEE 802.3, its lowest coefficient in the highest bit
	RawLeast      = 12         // times that a frame must have: noise is shorter
	RawMost       = 400        // and may have: no remote sends so long a frame
)

// A print works out a fingerprint.
type print struct {
	hash  uint32
	count int
	last  [2]int // the last space and the last mark, in steps of 8 µs
}

func (p *print) add(mark bool, us int) {
	last := &p.last[0]
	if mark {
		last = &p.last[1]
	}
	t := min(us, 65535) / 8
	p.bit(t > more(*last))
	p.bit(*last > more(t))
	*last = t
	p.count++
}

// more is a time that is clearly longer: of two times in the ratio 2 to 3
// either may be off by a seventh.
func more(t int) int { return t + t/4 + t/16 }

func (p *print) bit(set bool) {
	one := p.hash&1 == 1
	p.hash >>= 1
	if one != set {
		p.hash ^= RawPolynomial
	}
}

func (p *print) enough() bool { return RawLeast <= p.count && p.count <= RawMost }

// Fingerprint is the fingerprint of a frame: marks and spaces in turn, in
// microseconds, from the first mark to the last. It is false for one that is
// too short or too long to be a remote's.
func Fingerprint(times []int) (fingerprint uint32, ok bool) {
	var p print
	for i, us := range times {
		p.add(i%2 == 0, us)
	}
	return p.hash, p.enough()
}

const rawChoices = 34 // two more than the bits of a fingerprint

// rawFrame is a frame of the given choices: of every four times the first two
// may be long.
func rawFrame(choices uint64) []float64 {
	const short, long = 500, 1500
	times := []float64{short, short}
	for i := range rawChoices / 2 {
		for j := range 2 {
			t := float64(short)
			if choices>>(2*i+j)&1 == 1 {
				t = long
			}
			times = append(times, t)
		}
		times = append(times, short, short)
	}
	return append(times, short)
}

// encodeRaw makes a frame that has a fingerprint. A choice of rawFrame changes
// the same bits of the fingerprint whatever the others are, so which to make
// is a system of linear equations over the field of two elements.
func encodeRaw(fingerprint uint32) []float64 {
	of := func(choices uint64) uint32 {
		f, _ := Fingerprint(round(rawFrame(choices)))
		return f
	}
	type row struct {
		changes uint32
		choices uint64
	}
	var rows [32]row // by the highest bit they change
	reduce := func(r row) row {
		for bit := 31; bit >= 0; bit-- {
			if r.changes>>bit&1 == 1 && rows[bit].changes != 0 {
				r.changes ^= rows[bit].changes
				r.choices ^= rows[bit].choices
			}
		}
		return r
	}
	none := of(0)
	for i := range rawChoices {
		r := reduce(row{of(1<<i) ^ none, 1 << i})
		for bit := 31; bit >= 0; bit-- {
			if r.changes>>bit&1 == 1 {
				rows[bit] = r
				break
			}
		}
	}
	return rawFrame(reduce(row{changes: fingerprint ^ none}).choices)
}
