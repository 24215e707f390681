package main

import (
	"fmt"
	"strings"
	"time"

	"propwright/model/check"
)

// A rest holds the longest times that a prop takes to come to rest, in milliseconds;
// one is absent if the prop need not come to rest.
type rest struct {
	Stop  *int64 `json:"after_stop_ms"`
	Alone *int64 `json:"left_alone_ms"`
}

// restOf returns a design's times, or none if the check gives up on it; the verdicts
// then say so.
func restOf(s *check.Study) (r rest) {
	times, err := s.Rest()
	if err != nil {
		return r
	}
	if times.Stops {
		stop := times.Stop.Milliseconds()
		r.Stop = &stop
	}
	if times.Rests {
		alone := times.Alone.Milliseconds()
		r.Alone = &alone
	}
	return r
}

// printRest prints times that changed.
func printRest(b *strings.Builder, was, is rest) {
	head := "\nComing to rest\n"
	for _, line := range []struct {
		what    string
		was, is *int64
	}{{"after the stop button", was.Stop, is.Stop}, {"left alone", was.Alone, is.Alone}} {
		w, i := spokenRest(line.was), spokenRest(line.is)
		if w != i {
			fmt.Fprintf(b, "%s  ~ %s: %s (%s before)\n", head, line.what, i, w)
			head = ""
		}
	}
}

func spokenRest(ms *int64) string {
	if ms == nil {
		return "perhaps never"
	}
	return within(time.Duration(*ms) * time.Millisecond)
}
