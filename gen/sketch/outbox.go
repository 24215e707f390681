package sketch

import (
	"slices"
	"time"

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
		most = max(most, waiting(d, &d.Routines[i]))
	}
	return min(max(leastOutbox, 2*most+len(motion.Stops(d))), mostOutbox)
}

// waiting is how many messages wait at the most while a routine plays; a loop
// is played a few times.
func waiting(d *model.Design, r *model.Routine) int {
	rounds := 1
	if r.Loop {
		rounds = 3
	}
	most := 0
	var free time.Duration   // when the line is
	var over []time.Duration // when the messages that wait are sent
	for round := range rounds {
		for _, call := range motion.Sheet(d, r) {
			o := d.Output(call.Output)
			n := slices.IndexFunc(o.Messages, func(m model.Message) bool { return m.Name == call.Action.Send })
			if n < 0 || o.Baud <= 0 {
				continue
			}
			now := call.At + time.Duration(round)*d.RoutineLength(r)
			bits := 10 * len(o.Messages[n].Bytes)
			free = max(free, now) + time.Duration(bits)*time.Second/time.Duration(o.Baud)
			over = append(over, free)
			for over[0] <= now {
				over = over[1:]
			}
			most = max(most, len(over))
		}
	}
	return most
}
