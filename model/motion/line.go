package motion

import (
	"time"

	"propwright/model"
)

// Waiting is how many messages wait for the line at the most while a routine plays,
// and how long the line then takes for them. A loop is played a few times.
func Waiting(d *model.Design, r *model.Routine) (messages int, line time.Duration) {
	rounds := 1
	if r.Loop {
		rounds = 3
	}
	var free time.Duration   // when the line is
	var over []time.Duration // when the messages that wait are sent
	for round := range rounds {
		for _, call := range Sheet(d, r) {
			takes := Sending(d.Output(call.Output), call.Action.Send)
			if takes == 0 {
				continue
			}
			now := call.At + time.Duration(round)*d.RoutineLength(r)
			free = max(free, now) + takes
			over = append(over, free)
			for over[0] <= now {
				over = over[1:]
			}
			messages, line = max(messages, len(over)), max(line, free-now)
		}
	}
	return messages, line
}

// Sending is how long an output's line takes for a message, 0 where it has none of
// the name.
func Sending(o *model.Output, message string) time.Duration {
	for _, m := range o.Messages {
		if m.Name == message && o.Baud > 0 { // 10 bits a byte: start, 8, stop
			return time.Duration(10*len(m.Bytes)) * time.Second / time.Duration(o.Baud)
		}
	}
	return 0
}
