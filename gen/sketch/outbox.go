package sketch

import (
	"propwright/model"
	"propwright/model/motion"
)

// How many messages can wait at the least and at the most; 128 would be too
// many for the firmware's one byte.
const (
	leastOutbox = 4
	mostOutbox  = 120
)

// Outbox is how many messages the firmware can keep until the line is free: twice
// as many as ever wait in one routine, for those of a routine that is broken off are
// sent all the same, while the next one begins, and what stops a sound. A loop that
// asks for more than the line takes loses some.
func Outbox(d *model.Design) int {
	most := 0
	for i := range d.Routines {
		messages, _ := motion.Waiting(d, &d.Routines[i])
		most = max(most, messages)
	}
	return min(max(leastOutbox, 2*most+len(motion.Stops(d))), mostOutbox)
}
