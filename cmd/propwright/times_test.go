package main

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

func TestWithin(t *testing.T) {
	for _, c := range []struct {
		d    time.Duration
		want string
	}{
		{0, "at once"},
		{time.Millisecond, "within 0.1 s"},
		{3600 * time.Millisecond, "within 3.6 s"},
		{3601 * time.Millisecond, "within 3.7 s"},
		{59999 * time.Millisecond, "within 1 m"},
		{2 * time.Minute, "within 2 m"},
		{130 * time.Second, "within 2 m 10 s"},
		{138099 * time.Millisecond, "within 2 m 18.1 s"},
	} {
		assert.Equal(t, c.want, within(c.d), "%v", c.d)
	}
}
