package editor

import "time"

// speeds are how fast the rehearsal's clock may run, in hundredths.
var speeds = []int{10, 25, 50, 100, 200, 500, 1000, 5000}

// beat is how often a running clock moves the screen.
const beat = 50 * time.Millisecond

// A clock drives what is played. It belongs to the screen's goroutine.
type clock struct {
	running bool
	speed   int // index in speeds, counted from that of 100
	quit    chan struct{}
}

// start calls tick repeatedly with the clock's time since the last call. It does so by
// queue, which runs a function on the screen's goroutine.
func (c *clock) start(queue func(func()), tick func(time.Duration)) {
	c.running = true
	c.quit = make(chan struct{})
	quit, hundredths := c.quit, c.hundredths()
	go func() {
		t := time.NewTicker(beat)
		defer t.Stop()
		for last := time.Now(); ; {
			select {
			case <-quit:
				return
			case now := <-t.C:
				passed := now.Sub(last) * time.Duration(hundredths) / 100
				queue(func() {
					if c.running && c.quit == quit { // not stopped meanwhile
						tick(passed)
					}
				})
				last = now
			}
		}
	}()
}

func (c *clock) stop() {
	if c.running {
		c.running = false
		close(c.quit)
	}
}

const normal = 3 // index in speeds

func (c *clock) hundredths() int { return speeds[c.speed+normal] }

// change makes the clock faster or slower; it goes on running from the next
// start.
func (c *clock) change(by int) {
	c.speed = max(min(c.speed+by, len(speeds)-1-normal), -normal)
}
