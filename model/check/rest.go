package check

import (
	"time"

	"propwright/model/timed"
)

// Times says how long a prop can take to come to rest, at worst over all
// configurations and all draws of timers.
type Times struct {
	// Stop is the time from tapping the stop button to rest. It is known if Stops:
	// stop leads to rest from every configuration.
	Stop  time.Duration
	Stops bool

	// Alone is the time to rest from any moment on if nobody does anything more.
	// Letting a button go counts as doing something. It is known if Rests: the prop
	// comes to rest by itself from every configuration.
	Alone time.Duration
	Rests bool
}

// Rest computes how long the prop can take to come to rest. The error is that
// of Check.
func (s *Study) Rest() (Times, error) { return rest.Of(s) }

var rest = NewPart(func(s *Study) (Times, error) {
	x, err := explored.Of(s)
	if err != nil {
		return Times{}, err
	}
	stops, _ := stops.Of(s)
	t := Times{Stops: stops != nil, Rests: true}
	for i := range stops {
		t.Stop = max(t.Stop, ms(stops[i].took))
		t.Stops = t.Stops && !stops[i].diverges
	}
	for r := range x.Alone().Latest {
		if r.Time == timed.Never {
			t.Alone, t.Rests = 0, false
			break
		}
		t.Alone = max(t.Alone, ms(r.Time))
	}
	if len(restless(s.Design)) > 0 { // then no time is known
		t.Stops, t.Rests = false, false
	}
	return t, tooLarge(s.Program, x, nil)
})

func ms(n int64) time.Duration { return time.Duration(n) * time.Millisecond }
