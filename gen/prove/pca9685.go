package prove

import "propwright/gen/bench"

// A pca9685 simulates an expander by its data sheet (NXP, PCA9685, rev. 4): registers
// and their values after power-up are in section 7.3, PRE_SCALE in 7.3.5. Its
// oscillator is exact.
type pca9685 struct {
	t         bench.TB
	registers [256]byte
	awake     uint64 // cycle from which its outputs move; 0: it sleeps
	history   []registersAt
}

type registersAt struct {
	from      uint64 // cycle
	registers [256]byte
}

const (
	mode1, mode2, led0, allLED, prescale = 0x00, 0x01, 0x06, 0xFA, 0xFE
	sleep, autoIncrement                 = 0x10, 0x20
	outdrv                               = 0x04 // MODE2
	full                                 = 0x10 // of the register with a channel's highest bits
)

func newPCA9685(t bench.TB) *pca9685 {
	p := &pca9685{t: t}
	p.registers[mode1], p.registers[prescale] = 0x11, 0x1E
	for channel := range 16 {
		p.registers[led0+4*channel+3] = full
	}
	return p
}

// takes applies a transfer.
func (p *pca9685) takes(x bench.Transfer) {
	if len(x.Bytes) == 0 {
		return
	}
	register := int(x.Bytes[0])
	for _, value := range x.Bytes[1:] {
		switch {
		case register == prescale && p.registers[mode1]&sleep == 0:
			p.t.Fatalf("PRE_SCALE cannot be set while it is awake: %v", x)
		case register == mode2 && value&outdrv == 0:
			p.t.Fatalf("nothing drives its outputs high: %v", x)
		case register >= led0 && register < prescale && (p.awake == 0 || p.awake > x.At):
			p.t.Fatalf("an output is set before the oscillator runs: %v", x)
		case register >= allLED && register < prescale:
			for channel := range 16 {
				p.registers[led0+4*channel+register-allLED] = value
			}
		default:
			p.registers[register] = value
		}
		if register == mode1 && value&sleep != 0 {
			p.awake = 0
		} else if register == mode1 && p.awake == 0 {
			p.awake = x.End + bench.Millisecond/2
		}
		if p.registers[mode1]&autoIncrement != 0 {
			register = (register + 1) % len(p.registers)
		}
	}
	p.history = append(p.history, registersAt{x.End, p.registers}) // outputs change at the stop
}

// pulses returns those of a channel until a cycle, and the edges of one that is on or
// off. What is sent in one of its cycles shows in the next.
func (p *pca9685) pulses(channel int, end uint64) (pulses []bench.Pulse, levels []bench.Edge) {
	if p.awake == 0 || end < p.awake {
		return nil, nil
	}
	step := float64(p.registers[prescale]+1) * bench.Hz / 25e6 // in cycles of the chip
	high, now := false, 0
	for n := range int(float64(end-p.awake) / (4096 * step)) {
		at := p.awake + uint64(4096*step*float64(n))
		for now+1 < len(p.history) && p.history[now+1].from <= at {
			now++
		}
		r := p.history[now].registers[led0+4*channel:]
		on, off := int(r[0])|int(r[1])<<8, int(r[2])|int(r[3])<<8
		if isOn := on == full<<8 && off < full<<8; isOn != high {
			high = isOn
			levels = append(levels, bench.Edge{At: at, High: high})
		}
		if on == 0 && off < full<<8 {
			pulses = append(pulses, bench.Pulse{At: at, Width: uint64(float64(off) * step), Period: uint64(4096 * step)})
		}
	}
	return pulses, levels
}
