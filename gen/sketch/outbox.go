package sketch

import (
	"propwright/model"
	"propwright/model/motion"
)

// Least and greatest number of messages that can wait; 128 would be too
// many for the firmware's one byte.
const (
	leastOutbox = 4
	mostOutbox  = 120
)

// Outbox returns how many messages can wait for the line: twice
// as many as ever wait in one routine, as those of an interrupted routine are
// still sent while the next one begins; twice what a transition orders; and
// what stops a sound. A loop or a button's repeats that ask for more than the line
// can send lose some.
func Outbox(d *model.Design) int {
	most := 0
	for i := range d.Routines {
		messages, _ := motion.Waiting(d, &d.Routines[i])
		most = max(most, messages)
	}
	orders := 0
	for i := range d.Transitions {
		orders = max(orders, len(d.Transitions[i].Do))
	}
	return min(max(leastOutbox, 2*most+2*orders+len(motion.Stops(d))), mostOutbox)
}
