package bench

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/ir"
)

// A routine may ask for many messages at once; all are sent, in order, also
// those of a routine that is broken off, and one byte follows the other. At 300 baud the
// chip's UART is not at double speed, at 9600 it is.
func TestMessagesAtOnce(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, baud := range []int{300, 9600} {
		t.Run(fmt.Sprint(baud), func(t *testing.T) { messagesAtOnce(t, baud) })
	}
}

func messagesAtOnce(t *testing.T, baud int) {
	w := wirings["atmega328p"]
	d := busy(t, "atmega328p", w, 24, "nec:0x04:0x18")
	talk := d.Output("talk")
	talk.Messages = nil
	for _, state := range []int{1, 2} {
		r := model.Routine{Name: fmt.Sprint("burst-", state), Length: 10 * time.Second}
		for i := range 10 {
			name := fmt.Sprintf("m%d-%d", state, i)
			talk.Messages = append(talk.Messages, model.Message{Name: name, Bytes: []byte{byte(state), byte(i), 0xEF}})
			r.Cues = append(r.Cues, model.Cue{Output: talk.Name, Action: model.Action{Send: name, Last: -1}})
		}
		d.Routines = append(d.Routines, r)
		d.States[state].Plays = r.Name
	}
	talk.Baud = baud // at 300 one burst takes a second
	c := Start(t, compileDesign(t, d), Options{Pins: []int{w.strip}, Watch: []string{"pw_state"}, Step: 320})
	c.SetPin(w.receiver, High, 0)
	code, err := ir.ParseCode("nec:0x04:0x18")
	require.NoError(t, err)
	at := uint64(100 * Millisecond)
	for range 2 {
		end := c.PlayIR(w.receiver, ir.Encode(code), at)
		c.RunTo(end + 200*Millisecond) // while the first burst is being sent
		at = c.Now()
	}
	require.EqualValues(t, 2, c.Value("pw_state"))
	c.RunTo(3000 * Millisecond)
	var want []byte
	for _, m := range talk.Messages {
		want = append(want, m.Bytes...)
	}
	assert.Equal(t, fmt.Sprintf("% X", want), fmt.Sprintf("% X", c.Received(baud, 0, c.Now())))
	sent, burst := c.UART(), len(want)/2
	took := sent[burst-1].At - sent[0].At
	assert.Less(t, float64(took), 1.1*float64(burst)*float64(10*sent[0].BitCycles), "cycles of a burst of %d bytes", burst)
}
