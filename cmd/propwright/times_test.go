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
		{time.Millisecond, "within 100ms"},
		{3600 * time.Millisecond, "within 3.6s"},
		{3601 * time.Millisecond, "within 3.7s"},
		{59999 * time.Millisecond, "within 1m"},
		{2 * time.Minute, "within 2m"},
		{130 * time.Second, "within 2m 10s"},
		{138099 * time.Millisecond, "within 2m 18.1s"},
	} {
		assert.Equal(t, c.want, within(c.d), "%v", c.d)
	}
}
