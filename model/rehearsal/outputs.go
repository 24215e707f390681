package rehearsal

import "propwright/model/motion"

// Value is where a servo is now, in degrees, or how fast a spinner turns, in
// revolutions per second; the zero value for other outputs.
func (p *Player) Value(output string) motion.Range { return p.stage.Value(output, p.Now()) }

// Us is the width of a servo's or a spinner's pulses now, in microseconds.
func (p *Player) Us(output string) motion.Range { return p.stage.Us(output, p.Now()) }

// Pixel is what a pixel of a strip shows now; pixels count from 0.
func (p *Player) Pixel(output string, pixel int) motion.Light {
	return p.stage.Pixel(output, pixel, p.Now())
}

// Active reports whether a pulse output is held active or a switch is on now.
func (p *Player) Active(output string) bool { return p.stage.Active(output, p.Now()) }

// Sent lists what a message output has sent so far.
func (p *Player) Sent(output string) []motion.Sent { return p.stage.Sent(output, p.Now()) }

// Stage is what the outputs have done so far. It is to be asked about times up
// to Now only, and not to be told anything.
func (p *Player) Stage() *motion.Stage { return p.stage }
