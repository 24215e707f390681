package rehearsal

import "propwright/model/motion"

// Stage is what the outputs have done so far. It is to be asked about times up
// to Now only, and not to be told anything.
func (p *Player) Stage() *motion.Stage { return p.stage }
