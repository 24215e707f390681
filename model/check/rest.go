package check

import (
	"time"

	"propwright/model/timed"
)

// Times are how long a prop can take to come to rest, in the worst case over
// all configurations that can come about, timers drawn as late as they can be.
type Times struct {
	// Stop is from the stop button, tapped once, to rest. It is known where Stops:
	// stop leads to rest from every configuration.
	Stop  time.Duration
	Stops bool

	// Alone is from any moment on, if nobody does anything any more, to rest. A
	// release that the prop waits for is still something that somebody does. It is
	// known where Rests: the prop comes to rest by itself from every configuration.
	Alone time.Duration
	Rests bool
}

// Rest finds how long the prop can take to come to rest. The error is as that
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
	if len(restless(s.Design)) > 0 { // then nothing can be promised
		t.Stops, t.Rests = false, false
	}
	return t, tooLarge(s.Program, x, nil)
})

func ms(n int64) time.Duration { return time.Duration(n) * time.Millisecond }
