package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/check"
)

// printTimes says how long a design's prop can take to come to rest, as far
// as that is known.
func printTimes(w io.Writer, s *check.Study) error {
	times, err := s.Rest()
	if err != nil {
		return err
	}
	var known []string
	if times.Stops {
		known = append(known, "after the stop button, at rest "+within(times.Stop))
	}
	if times.Rests {
		known = append(known, "left alone, at rest "+within(times.Alone))
	}
	if known == nil {
		return nil
	}
	_, err = fmt.Fprintln(w, strings.Join(known, "; "))
	return err
}

// within returns "at once", "within 2m 10s" or "within 3.6s", never less than d.
func within(d time.Duration) string {
	const tenth = 100 * time.Millisecond
	if d == 0 {
		return "at once"
	}
	return "within " + model.SayDuration((d + tenth - 1).Truncate(tenth))
}
