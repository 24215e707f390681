package check_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs/many"
	"propwright/model/machine"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Up to eight states have a finding each.
func TestSameOfManyStates(t *testing.T) {
	few := of(replay(t, many.Ring(9)), "no-stop")
	require.Len(t, few, 8)
	for _, f := range few {
		assert.Equal(t, fmt.Sprintf("the stop button \"b0\" does not lead out of state %q", f.State), f.Message)
		assert.Empty(t, f.States)
		assert.NotEmpty(t, f.Witness)
	}
	found := of(replay(t, many.Ring(10)), "no-stop")
	require.Len(t, found, 1)
	f := found[0]
	assert.Equal(t, few[0].Message+`; the same is true of "s2", "s3", "s4", "s5", "s6", "s7", "s8" and "s9"`, f.Message)
	assert.Equal(t, []string{"s1", "s2", "s3", "s4", "s5", "s6", "s7", "s8", "s9"}, f.States)
	assert.Equal(t, few[0].Witness, f.Witness)
	assert.Equal(t, few[0].Claim, f.Claim)

	f = of(replay(t, many.Ring(2000)), "no-stop")[0]
	assert.Equal(t, few[0].Message+`; the same is true of 1,998 more states: "s2", "s3", "s4" and so on`, f.Message)
	assert.Len(t, f.States, 1999)
}

// A finding about one state is what it always was; one about many has all their names.
func TestStatesInJSON(t *testing.T) {
	for n, want := range map[int]int{9: 0, 10: 9} {
		text, err := json.Marshal(of(replay(t, many.Ring(n)), "never-rests")[0])
		require.NoError(t, err)
		var f struct {
			State, Message, Advice string
			States                 []string
			Witness                []string
			Claim                  check.Claim
		}
		require.NoError(t, json.Unmarshal(text, &f))
		assert.Equal(t, "s1", f.State)
		assert.Equal(t, []string{"press b1"}, f.Witness)
		assert.Equal(t, check.Claim{State: "s1", Still: true, Alone: true}, f.Claim)
		assert.Len(t, f.States, want)
		assert.Equal(t, want > 0, strings.Contains(string(text), "states"))
	}
}

// Of many states the slowest is told, wherever it is in the file.
func TestSlowestOfMany(t *testing.T) {
	d := many.Timers(20)
	for s := range 20 { // a press of stop leads the further back the later the state
		d.Transitions = append(d.Transitions, model.Transition{
			From: []model.From{{State: d.States[s].Name}}, On: []model.Trigger{{Kind: model.Press, Name: "b0"}}, To: d.States[(20-s)%20].Name,
		})
	}
	found := of(replay(t, d), "slow-stop")
	require.Len(t, found, 1)
	assert.Regexp(t, `^the stop button "b0", pressed in state "s19", can take .* asks for 3s; the same is true of 18 more states: "s1", "s2", "s3" and so on$`, found[0].Message)
	assert.Equal(t, 19*time.Minute+209*time.Second, found[0].Claim.Took)
	assert.Equal(t, "s0", found[0].Claim.State)
}

// What is different in every state and takes as long to see as a prop has states
// is told until there is enough to do.
func TestMoreFindingsThanAreTold(t *testing.T) {
	d := many.Ring(300)
	for s := range d.States { // each is silent about all buttons but one
		button := fmt.Sprint("c", s)
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{Name: button})
		d.Transitions = append(d.Transitions, model.Transition{
			From: []model.From{{State: d.States[s].Name}}, On: []model.Trigger{{Kind: model.Press, Name: button}}, Ignore: true,
		})
	}
	all, err := check.NewStudy(d).Check(check.Rules())
	require.NoError(t, err)
	found := of(all, "unhandled-button")
	acts := 0
	for i, f := range found {
		acts += len(f.Witness)
		assert.Equal(t, i == len(found)-1, strings.Contains(f.Message, "; and this rule finds"), f.Message[len(f.Message)-200:])
	}
	assert.Greater(t, acts, 1<<14)
	assert.Less(t, acts, 1<<14+300)
	last := found[len(found)-1]
	assert.NoError(t, last.Replay(machine.Compile(d)))
	assert.Contains(t, last.Message, fmt.Sprintf("; and this rule finds %d more like it: mend the first ones, then check again", 300-len(found)))
}

// Of what is said of many states only what is new is new.
func TestWithout(t *testing.T) {
	was := of(replay(t, many.Ring(20)), "no-stop")
	d := many.Ring(30)
	is := of(replay(t, d), "no-stop")
	assert.Empty(t, is.Without(is))
	more := is.Without(was)
	require.Len(t, more, 1)
	assert.Equal(t, `the stop button "b0" does not lead out of state "s20"; the same is true of 9 more states: "s21", "s22", "s23" and so on`, more[0].Message)
	assert.Equal(t, "s20", more[0].State)
	assert.Empty(t, more[0].Witness, "that it has is about another state")
	assert.Empty(t, was.Without(is))

	// One of the states is mended, and then there are few enough to be told one by one.
	few := of(replay(t, many.Ring(9)), "no-stop")
	gone := was.Without(few)
	require.Len(t, gone, 1)
	assert.Equal(t, "s9", gone[0].State)
	assert.Empty(t, few.Without(was))
}
