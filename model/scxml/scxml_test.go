package scxml

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/compare"
	"propwright/model/designs/odd"
	"propwright/model/machine"
	"propwright/model/random"
)

// SCION, an interpreter of SCXML by others, goes through the same states as
// the reference machine: five hundred lists of events and waits for the demo,
// some for each other design, with the same luck, and logs the same orders.
func TestAnotherInterpreterDoesTheSame(t *testing.T) {
	if testing.Short() {
		t.Skip("asks an independent program; the whole run does it")
	}
	for _, tool := range []string{"node", "npm"} {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("%s is not installed; run testdata/setup", tool)
			}
			t.Skipf("%s is not installed", tool)
		}
	}
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS("testdata/interpreter")))
	install := exec.Command("npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund")
	install.Dir = dir
	out, err := install.CombinedOutput()
	require.NoError(t, err, string(out))
	for name, d := range odd.Whole(t) {
		t.Run(name, func(t *testing.T) {
			lists := 30
			if name == "harbour-heron" {
				lists = 500
			}
			text := Export(machine.Compile(d))
			require.NoError(t, os.WriteFile(filepath.Join(dir, name+".scxml"), text, 0o666))
			plays, want := play(t, d, lists)
			input, err := json.Marshal(plays)
			require.NoError(t, err)
			run := exec.Command("node", "run.js", name+".scxml", name+".json")
			run.Dir, run.Stdin = dir, strings.NewReader(string(input))
			out, err := run.CombinedOutput()
			require.NoError(t, err, string(out))
			output, err := os.ReadFile(filepath.Join(dir, name+".json"))
			require.NoError(t, err)
			var got [][]string
			require.NoError(t, json.Unmarshal(output, &got))
			require.Len(t, got, lists)
			for i := range want {
				require.Equal(t, want[i], got[i], "%v", plays[i])
			}
		})
	}
}

// A list is what is played, and what chance gives meanwhile: from, to, drawn.
type list struct {
	Acts  []any       `json:"acts"`
	Draws [][3]uint32 `json:"draws"`
}

// play draws lists of events and waits and plays them at the reference
// machine: the state after each, and the orders that were carried out.
func play(t *testing.T, d *model.Design, lists int) (plays []list, states [][]string) {
	p := machine.Compile(d)
	r := rand.New(rand.NewPCG(1, 2))
	waits := []int{1, 300, 700, 2500, 5000, 31_000, 100_000, 800_000}
	for range lists {
		l := list{Draws: [][3]uint32{}}
		m := machine.NewDrawing(p, func(lo, hi uint32) uint32 {
			drawn := []uint32{lo, hi, lo + r.Uint32N(hi-lo+1)}[r.IntN(3)]
			l.Draws = append(l.Draws, [3]uint32{lo, hi, drawn})
			return drawn
		})
		said := ""
		m.Observe = func(c machine.Change) {
			if c.Outcome == machine.Acted {
				said += " do," + d.Does(&d.Transitions[c.Move.Transition])
			}
		}
		var went []string
		for range 25 {
			said = ""
			if r.IntN(4) == 0 {
				ms := waits[r.IntN(len(waits))]
				if next, ok := m.Next(); ok && r.IntN(2) == 0 { // just before it or just then
					ms = max(1, int(next-m.Now())-r.IntN(2))
				}
				l.Acts = append(l.Acts, ms)
				m.Advance(uint32(ms))
			} else {
				e := machine.EventID(r.IntN(len(p.Events)))
				l.Acts = append(l.Acts, eventName(p.Events[e]))
				m.Post(e)
				m.Advance(1)
			}
			went = append(went, p.Name(m.State())+said)
		}
		plays, states = append(plays, l), append(states, went)
	}
	return plays, states
}

// What is exported keeps to the rules of the Recommendation, and reads back
// as a design that does the same.
func TestThereAndBack(t *testing.T) {
	for name, d := range odd.Whole(t) {
		sameBehaviour(t, name, d)
	}
}

func TestThereAndBackAnyDesign(t *testing.T) {
	size := random.Usual
	size.Comments = false
	rapid.Check(t, func(t *rapid.T) { sameBehaviour(t, "random", size.Design(t)) })
}

func sameBehaviour(t require.TestingT, name string, d *model.Design) {
	text := Export(machine.Compile(d))
	_, faults := parse(name, text)
	require.Empty(t, faults, string(text))
	back, err := Import(name+".scxml", text)
	require.NoError(t, err, string(text))
	c := compare.Compare(d, back)
	for _, x := range c.Changes {
		switch x.Area {
		case compare.AreaBehaviour:
			if strings.HasPrefix(x.Was, "do ") && x.Is == "" {
				continue // a chart has no outputs
			}
			require.Fail(t, "differs", "%s: %s\n%s", name, x, text)
		case compare.AreaTiming:
			require.Contains(t, x.Name, "what routine", "%s: %s", name, x)
		case compare.AreaState:
			require.NotContains(t, x.Name, "kind of state", "%s: %s", name, x)
			require.NotContains(t, x.Name, "power-up", "%s: %s", name, x)
		}
	}
	require.Equal(t, len(d.States), len(back.States))
	require.Equal(t, d.Remote.Stop, back.Remote.Stop)
}

// The order in which timers are set is that in which they go off when both are
// due, wherever the chart has what comes of them.
func TestImportKeepsTheOrderOfTimers(t *testing.T) {
	const chart = `<scxml xmlns="http://www.w3.org/2005/07/scxml" version="1.0" initial="a">
  <state id="a">
    <onentry><send event="late" delay="2s"/><send event="slow" delay="2001ms"/><send event="early" delay="1s"/></onentry>
    <transition event="early" target="b"/>
    <transition event="go" target="c"/>
    <transition event="late" target="c"/>
    <transition event="slow" target="b"/>
  </state>
  <state id="b"/>
  <state id="c"/>
</scxml>`
	d, err := Import("c.scxml", []byte(chart))
	require.NoError(t, err)
	var said []string
	for _, tr := range d.Transitions {
		for _, on := range tr.On {
			said = append(said, on.String()+" "+tr.To)
		}
	}
	assert.Equal(t, []string{"press go c", "after 2s c", "after 2.001s b", "after 1s b", "press stop a"}, said)

	// Two states that set the same two timers in orders that contradict each
	// other, in a chart whose transitions stand above them.
	inner := func(id string, events ...string) string {
		s := `<state id="` + id + `"><onentry>`
		for _, e := range events {
			s += `<send event="after.` + e + `" delay="1s"/>`
		}
		return s + "</onentry></state>"
	}
	d, err = Import("c.scxml", []byte(`<scxml xmlns="http://www.w3.org/2005/07/scxml" version="1.0" initial="a"><state id="Any">`+
		`<state id="Dormant">`+inner("a", "10.20", "15.30")+inner("b", "15.30", "10.20")+`</state>`+
		`<transition event="after.10.20" target="a"/><transition event="after.15.30" target="b"/></state></scxml>`))
	require.NoError(t, err)
	assert.Len(t, d.Transitions, 3)
}

const door = `<?xml version="1.0"?>
<scxml xmlns="http://www.w3.org/2005/07/scxml" version="1.0" name="GardenGate" initial="Closed">
  <state id="Closed">
    <transition event="open knock" target="Open"/>
  </state>
  <state id="Open">
    <onentry><send event="tired" delay="2.5s" id="t"/></onentry>
    <onexit><cancel sendid="t"/></onexit>
    <transition event="close" target="Closed"/>
    <transition event="tired" target="Closed"/>
    <transition event="open"/>
  </state>
</scxml>
`

func TestImportOfAFlatChart(t *testing.T) {
	d, err := Import("gate.scxml", []byte(door))
	require.NoError(t, err)
	assert.Equal(t, "gardengate", d.Prop.Name)
	require.Len(t, d.States, 2)
	assert.Equal(t, model.Dormant, d.States[0].Kind)
	assert.Equal(t, "Closed", d.States[0].Label)
	assert.Equal(t, model.Ambient, d.States[1].Kind)
	var said []string
	for i := range d.Transitions {
		tr := &d.Transitions[i]
		var on []string
		for _, x := range tr.On {
			on = append(on, x.String())
		}
		to := tr.To
		if tr.Ignore {
			to = "ignored"
		}
		said = append(said, tr.From[0].String()+" on "+strings.Join(on, ", ")+": "+to)
	}
	assert.Equal(t, []string{
		"closed on press open, press knock: open",
		"open on press close, after 2.5s: closed",
		"open on press open: ignored",
		"any on press stop: closed",
	}, said)
	assert.Equal(t, "stop", d.Remote.Stop)
}

// Charts of others have names of all kinds, no state said to begin in, and
// delays in the Recommendation's other units.
func TestImportOfAForeignChart(t *testing.T) {
	d, err := Import("Türe.scxml", []byte(`<?xml version="1.0" encoding="us-ascii"?>
<s:scxml xmlns:s="http://www.w3.org/2005/07/scxml" version="1.0">
  <s:state id="&#xFC;ber">
    <s:onentry><s:send event="a" delay="1.5m"/><s:send event="b" delay="2h"/><s:send event="c" delay="0.4ms"/><s:send event="d" delay=".5s"/></s:onentry>
    <s:transition event="a b c d" target="ber"/>
  </s:state>
  <s:state id="ber"/>
  <s:state id="x.y-Z"/>
  <v:view xmlns:v="urn:view"><v:box/></v:view>
</s:scxml>`))
	require.NoError(t, err)
	var states, on []string
	for _, s := range d.States {
		states = append(states, fmt.Sprintf("%s %s %s %t", s.Name, s.Label, s.Kind, s.Start))
	}
	assert.Equal(t, []string{"ber über dormant true", "ber-2 ber ambient false", "x-y-z x.y-Z ambient false"}, states)
	for _, x := range d.Transitions[0].On {
		on = append(on, x.String())
	}
	assert.Equal(t, []string{"after 90s", "after 120m", "after 0s", "after 500ms"}, on)
	assert.Equal(t, "ber-2", d.Transitions[0].To)

	for text, want := range map[string]string{
		`<?xml version="1.0" encoding="ISO-8859-1"?><scxml/>`:                                                               "c.scxml:1:1: the chart is written in ISO-8859-1; save it in UTF-8",
		`<scxml xmlns="http://www.w3.org/2005/07/scxml" version="1.0" initial="a b"><state id="a"/><state id="b"/></scxml>`: `the chart begins in "a b", and a design in one state`,
		`<scxml xmlns="http://www.w3.org/2005/07/scxml" version="1.0"><state/></scxml>`:                                     "c.scxml:1:62: a state without an id cannot be taken over",
	} {
		_, err := Import("c.scxml", []byte(text))
		assert.ErrorContains(t, err, want)
		assert.NotContains(t, err.Error(), "\n")
	}
}

func TestImportNamesWhatItCannotTake(t *testing.T) {
	head := `<scxml xmlns="http://www.w3.org/2005/07/scxml" version="1.0" initial="a">` + "\n"
	for _, c := range []struct{ body, want string }{
		{`<state id="a"/><parallel id="p"/>`, "c.scxml:2:16: <parallel> cannot be taken over; a design's chart has states that stand beside each other, and nothing else"},
		{"<state id=\"a\">\n<state id=\"b\"/></state>", "c.scxml:3:1: <state> cannot be taken over; only flat charts can be: a state has no states in it"},
		{`<state id="a"/><final id="f"/>`, "<final> cannot be taken over"},
		{`<state id="a"><invoke type="x"/></state>`, "<invoke> cannot be taken over"},
		{`<datamodel><data id="n" expr="0"/></datamodel><state id="a"/>`, "<datamodel> cannot be taken over"},
		{`<state id="a"><onentry><log expr="1"/></onentry></state>`, "<log> cannot be taken over"},
		{`<state id="a"><transition event="e" target="a"><raise event="x"/></transition></state>`, "<raise> cannot be taken over"},
		{`<state id="a"><transition event="e" cond="n == 1" target="a"/></state>`, `with the condition "n == 1" cannot be taken over`},
		{`<state id="a"><transition target="a"/></state>`, "without an event cannot be taken over"},
		{`<state id="a"><transition event="e.*" target="a"/></state>`, `the event "e.*" stands for many`},
		{`<state id="a"><transition event="e" target="a b"/></state><state id="b"/>`, `"a b" is not one of the states`},
		{`<state id="a"><onentry><send event="e" delay="soon"/></onentry></state>`, `the delay of "e" is not a time`},
		// No SCXML at all, by the rules of the Recommendation.
		{`<stat id="a"/>`, "SCXML has no <stat>"},
		{`<state id="a"><data id="x"/></state>`, "<data> does not stand in <state>"},
		{`<state id="a" colour="red"/>`, `<state> has no attribute "colour"`},
		{`<state id="a"/><state id="a"/>`, `the id "a" is there twice`},
		{`<state id="a"><transition event="e" target="z"/></state>`, `there is no state "z"`},
		{`<state id="a"><transition/></state>`, "a transition has an event, a condition or a target"},
		{`<state id="a"><transition event="e e..f" target="a"/></state>`, `"e..f" is not an event`},
		{`<state id="a" initial="a b"><initial><transition target="b"/></initial><state id="b"/></state>`, "<state> has both the attribute initial and <initial>"},
		{`<state id="a" initial="b"/><state id="b"/>`, `there is no state "b" in it to begin with`},
		{`<state id="a"><datamodel/><datamodel/></state>`, "<state> has one <datamodel> at most; this has 2"},
		{`<state id="a"><history id="h"/></state>`, "<history> has one transition; this has 0"},
		{`<state id="a"><history id="h"><transition event="e" target="a"/></history></state>`, "has a target, and neither an event nor a condition"},
		{`<state id="a"><history id="h" type="flat"><transition target="a"/></history></state>`, `the type of <history> is "flat"; write shallow or deep`},
		{`<state id="a"><transition event="e" type="inner"/></state>`, `the type of <transition> is "inner"; write external or internal`},
		{`<state id="a"><onentry><send id="s" event="e" delay="1s" delayexpr="x"/></onentry></state>`, "<send> has both the attribute delay and the attribute delayexpr"},
		{`<state id="a"><onentry><send id="s"/></onentry></state>`, "a <send> has an event; this has none"},
		{`<state id="a"><onentry><send event="e f"/></onentry></state>`, `"e f" is not an event that can be sent`},
		{`<state id="a"><onentry><send event="e" delay="1 second"/></onentry></state>`, `the delay of "e" is not a time; write`},
		{`<state id="a"><onentry><send event="e" delay="25d"/></onentry></state>`, `the delay of "e" is not a time that can be taken over; write for example delay="500ms" or delay="2s", up to 24 days`},
		{`<state id="a"><onexit><cancel sendid="t"/></onexit></state>`, `there is no <send> with the id "t"`},
		{`<state id="a"><onexit><cancel sendid="a"/></onexit></state>`, `there is no <send> with the id "a"`},
		{`<state id="a"><onexit><cancel/></onexit></state>`, "a <cancel> says which <send> it takes back; this does not"},
		{`<state id="a"><onexit><cancel sendid="a" sendidexpr="b"/></onexit></state>`, "<cancel> has both the attribute sendid and the attribute sendidexpr"},
		{`<state id="a"><onexit><raise/></onexit></state>`, `<raise> needs the attribute "event"`},
		{`<state id="a"><onexit><if><log/></if></onexit></state>`, `<if> needs the attribute "cond"`},
		{`<state id="a"><onexit><assign expr="1"/></onexit></state>`, `<assign> needs the attribute "location"`},
		{`<datamodel><data expr="1"/></datamodel><state id="a"/>`, `<data> needs the attribute "id"`},
		{`<datamodel><data id="x" expr="1" src="y"/></datamodel><state id="a"/>`, "<data> has both the attribute src and the attribute expr"},
		{`<state id="a"><invoke><finalize><raise event="x"/></finalize></invoke></state>`, "<raise> does not stand in <finalize>"},
		{`<final id="a"><donedata><param name="x"/><content/></donedata></final>`, "<donedata> has both <content> and <param>"},
		{`<datamodel/>`, "the chart has no state"},
		{`<state id="a"`, "this is not XML"},
		{``, `there is no state "a"`},
	} {
		_, err := Import("c.scxml", []byte(head+c.body+"\n</scxml>"))
		var faults model.Faults
		require.ErrorAs(t, err, &faults, c.body)
		assert.ErrorContains(t, err, c.want, c.body)
		assert.NotContains(t, err.Error(), "\n\n")
	}
	_, err := Import("c.scxml", []byte(`<scxml xmlns="http://www.w3.org/2005/07/scxml" name="a b" binding="lazy"><state id="a"/></scxml>`))
	assert.ErrorContains(t, err, `<scxml> needs the attribute "version"`)
	assert.ErrorContains(t, err, `the binding of <scxml> is "lazy"; write early or late`)
	assert.ErrorContains(t, err, `"a b" is not a name for a chart`)
	for _, text := range []string{"", "x", "<html/>", "<scxml/>", `<scxml xmlns="http://www.w3.org/2005/07/scxml" version="1.0"/>`} {
		_, err := Import("c.scxml", []byte(text))
		assert.Error(t, err, text)
	}
}

// Import never panics, whatever it is given.
func TestImportOfAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := []byte(door)
		for range rapid.IntRange(1, 8).Draw(t, "cuts") {
			from := rapid.IntRange(0, len(text)).Draw(t, "from")
			to := rapid.IntRange(from, min(len(text), from+20)).Draw(t, "to")
			text = append(append(append([]byte{}, text[:from]...), rapid.SampledFrom([]string{"", "<state>", `id="Any"`, "</state>", "Any", "Dormant"}).Draw(t, "put")...), text[to:]...)
		}
		d, err := Import("c.scxml", text)
		if err == nil {
			machine.Compile(d)
		}
	})
}
