package main

import (
	"fmt"
	"io"
	"strings"
	"time"

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

// within returns "at once", "within 2 m 10 s" or "within 3.6 s", never less than d.
func within(d time.Duration) string {
	tenths := (d + 100*time.Millisecond - 1) / (100 * time.Millisecond)
	minutes, tenths := tenths/600, tenths%600
	var parts []string
	if minutes > 0 {
		parts = append(parts, fmt.Sprintf("%d m", minutes))
	}
	switch {
	case tenths%10 > 0:
		parts = append(parts, fmt.Sprintf("%d.%d s", tenths/10, tenths%10))
	case tenths > 0:
		parts = append(parts, fmt.Sprintf("%d s", tenths/10))
	}
	if parts == nil {
		return "at once"
	}
	return "within " + strings.Join(parts, " ")
}
