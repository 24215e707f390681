package live

import (
	"bytes"
	"io"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
)

var heron = sync.OnceValue(func() *check.Study {
	d, err := model.Read("heron.prop.toml", designs.HarbourHeron)
	if err != nil {
		panic(err)
	}
	return check.NewStudy(d)
})

// a bench is a prop at a line, with a clock that the test moves.
type bench struct {
	*Prop
	t     testing.TB
	sent  bytes.Buffer
	now   time.Time
	count uint8
	mark  uint32
}

func newBench(t testing.TB) *bench {
	b := &bench{t: t, now: time.Unix(0, 0)}
	s := heron()
	b.Prop, b.mark = NewProp(s, &b.sent, b.now), uint32(sketch.LiveMark(s.Program))<<16
	return b
}

// tell is what is said when the prop tells something, in one line.
func (b *bench) tell(what byte, which int, value uint32, at time.Duration) string {
	if what == 'H' || what == 'B' {
		value |= b.mark
	}
	said, err := b.Take(Told{What: what, Which: which, Value: value, At: at, count: b.count}, 0, b.now)
	require.NoError(b.t, err)
	b.count++
	return strings.Join(said, "; ")
}

func (b *bench) tick(after time.Duration) string {
	b.now = b.now.Add(after)
	said, err := b.Tick(b.now)
	require.NoError(b.t, err)
	return strings.Join(said, "; ")
}

// The lines are found, whatever is between them, and what is between is counted.
func TestReader(t *testing.T) {
	random := rand.NewChaCha8([32]byte{7})
	var line []byte
	var want []Told
	between := 0
	for i := range 200 {
		noise := make([]byte, i*i/10)
		random.Read(noise)
		line, between = append(line, noise...), between+len(noise)
		told := Told{What: "BEHKLSXY"[i%8], Which: i, Value: uint32(i) * 0x1234567, At: time.Duration(i) * time.Hour / 10, count: uint8(i)}
		want = append(want, told)
		line = append(line, told.String()+"\n"...)
	}
	half := want[0].String()[:20]
	line, between = append(line, half...), between+len(half)
	r := NewReader(bytes.NewReader(line))
	var got []Told
	for {
		told, strange, err := r.Next()
		between -= strange
		if told.What != 0 {
			got = append(got, told)
		}
		if err != nil {
			require.ErrorIs(t, err, io.EOF)
			break
		}
	}
	assert.Equal(t, want, got)
	assert.Zero(t, between)
}

// A character that was changed on the way spoils the line.
func TestReaderHoldsTheSum(t *testing.T) {
	line := []byte(Told{What: 'S', Which: 3, At: 76383 * time.Millisecond, count: 12}.String() + "\n")
	assert.Equal(t, "$S 0C 00012A5F 03 00000000*22\n", string(line), "as live.h shows it")
	for i := range line {
		spoilt := bytes.Clone(line)
		spoilt[i] ^= 1
		told, _, _ := NewReader(bytes.NewReader(spoilt)).Next()
		assert.Zero(t, told.What, "%q", spoilt)
	}
}

func TestProp(t *testing.T) {
	b := newBench(t)
	assert.Equal(t, "powered up", b.tell('H', 1, 0, 0))
	assert.Equal(t, "state "+b.study.States[0].Name, b.tell('S', 0, 0, 0))
	assert.Equal(t, "", b.tell('B', 0, 0, time.Second), "nothing new")
	assert.Equal(t, "heard press wake", b.tell('E', 1, 0, 1500*time.Millisecond))
	b.count += 2
	assert.Equal(t, "2 things that the prop told were lost on the way; state watch", b.tell('B', 1, 0, 2*time.Second))
	assert.Equal(t, "3 events dropped: more came than eight at a time; 7 edges of the remote lost, and with them frames: the loop was too late to take them",
		b.tell('B', 1, 3<<8|7, 3*time.Second))
	assert.Equal(t, "", b.tell('B', 1, 3<<8|7, 4*time.Second))
	assert.Equal(t, "the loop was held up for 40 ms: does a hook wait?", b.tell('L', 0, 40, 4*time.Second))
	assert.Contains(t, b.tell('H', 8, 0, 0), "restarted by its watchdog")
	_, err := b.Take(Told{What: 'B', Value: b.mark ^ 1<<20}, 0, b.now)
	var other *MarkError
	assert.ErrorAs(t, err, &other)
}

// Noise is told of now and then, with how much it was.
func TestNoise(t *testing.T) {
	b := newBench(t)
	var said []string
	for range 40 {
		now, err := b.Take(Told{}, 10, b.now)
		require.NoError(t, err)
		said = append(said, now...)
		b.now = b.now.Add(100 * time.Millisecond)
	}
	require.Len(t, said, 2)
	assert.Contains(t, said[0], "10 bytes came that are not the prop's")
	assert.Contains(t, said[1], "210 bytes came")
	assert.False(t, b.There)
}

// The other frames of a stranger's button that is kept down say nothing new.
func TestStranger(t *testing.T) {
	b := newBench(t)
	assert.Equal(t, "heard a stranger: nec:0x55:0x66, which is no button's", b.tell('X', 0, 0x9966AA55, 0))
	assert.Equal(t, "", b.tell('X', 0, 0x9966AA55, 110*time.Millisecond))
	assert.NotEmpty(t, b.tell('X', 0, 0x9966AA55, 5*time.Second))
	assert.Contains(t, b.tell('X', 9, 0x12345678, 6*time.Second), "a frame 0x12345678")
}

// A press is sent again until the prop takes it, with the same number, so that it
// is not pressed twice.
func TestPress(t *testing.T) {
	b := newBench(t)
	require.NoError(t, b.Press("wake", b.now))
	first := bytes.Clone(b.sent.Bytes())
	require.Len(t, first, 6)
	assert.Equal(t, first[:3], first[3:])
	assert.Equal(t, []byte{1, ^(first[0] + 1)}, first[1:3])
	assert.Empty(t, b.tick(400*time.Millisecond))
	assert.Len(t, b.sent.Bytes(), 6)
	assert.Empty(t, b.tick(200*time.Millisecond))
	assert.Equal(t, append(bytes.Clone(first), first...), b.sent.Bytes())
	b.tell('K', 1, 0, 0) // it had taken the first
	assert.False(t, b.Waiting())

	b.sent.Reset()
	require.NoError(t, b.Press("wake", b.now))
	b.tell('K', 1, 0, 0) // the number is that of another run's last press
	assert.Len(t, b.sent.Bytes(), 12)
	assert.NotEqual(t, b.sent.Bytes()[0], b.sent.Bytes()[6])
	var said string
	for range mostTry {
		said = b.tick(600 * time.Millisecond)
	}
	assert.Equal(t, "the prop did not take the press of wake", said)
	assert.ErrorContains(t, b.Press("wak", b.now), `did you mean "wake"?`)
}

func TestSilence(t *testing.T) {
	b := newBench(t)
	assert.Empty(t, b.tick(3*time.Second))
	assert.Contains(t, b.tick(time.Second), "built with live = true")
	assert.Empty(t, b.tick(time.Minute), "it was said")
	b.tell('B', 0, 0, 0)
	assert.Contains(t, b.tick(4*time.Second), "says nothing any more")
}

// A script has the presses as they were, also one that became a hold, and the
// states that lasted.
func TestScript(t *testing.T) {
	b := newBench(t)
	_, err := b.Script()
	assert.ErrorContains(t, err, "press the board's reset button")
	hold, ok := b.study.Program.Event(model.Trigger{Kind: model.Hold, Name: "wake", For: 800 * time.Millisecond})
	require.True(t, ok)
	b.tell('H', 1, 0, 0)
	b.tell('S', 0, 0, 0)
	b.tell('K', 1, 1, time.Second)
	b.tell('E', 1, 0, time.Second) // typed
	b.tell('S', 1, 0, time.Second)
	b.tell('E', 1, 0, 3*time.Second) // kept down
	b.tell('E', int(hold), 0, 3800*time.Millisecond)
	b.tell('S', 2, 0, 3800*time.Millisecond)
	b.tell('B', 2, 0, 5*time.Second)
	b.tell('B', 2, 0, 6*time.Second)
	s, err := b.Script()
	require.NoError(t, err)
	assert.Equal(t, "wait 1s\nexpect "+b.study.States[0].Name+"\npress wake\nwait 2s\nexpect "+b.study.States[1].Name+
		"\nhold wake for 800ms\nwait 2.2s\nexpect "+b.study.States[2].Name+"\n", string(s.Format("")))
}
