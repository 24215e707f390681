package harness

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen"
	"propwright/gen/mutate"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/ir"
	"propwright/model/machine"
)

// A firmware is a design with its sketch, as rules look at it.
type firmware struct {
	design *model.Design
	text   map[string]string // of a file
}

func newFirmware(t testing.TB, d *model.Design) *firmware {
	f := &firmware{d.Wired(), map[string]string{}}
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	for _, file := range files {
		f.text[file.Path] = string(gen.Seal(file.Path, file.Text)) // with the lines of what is written
	}
	return f
}

// has reports whether an expression matches something in a file.
func (f *firmware) has(file, expression string) bool {
	return regexp.MustCompile(expression).MatchString(f.text[file])
}

// lacks is that a file has nothing of the kind.
func lacks(file, expression string) func(*firmware, *mutate.Mutant) bool {
	return func(f *firmware, _ *mutate.Mutant) bool { return !f.has(file, expression) }
}

func all(holds ...func(*firmware, *mutate.Mutant) bool) func(*firmware, *mutate.Mutant) bool {
	return func(f *firmware, m *mutate.Mutant) bool {
		return !slices.ContainsFunc(holds, func(h func(*firmware, *mutate.Mutant) bool) bool { return !h(f, m) })
	}
}

var (
	inBraces = regexp.MustCompile(`\{([^{}]*)\}`)
	aRow     = regexp.MustCompile(`^ +\{?(.*?)\}?,( /\*.*)?$`)
)

// table is the rows of one of tables.c, each cut at its commas.
func (f *firmware) table(name string) (rows [][]string) {
	_, text, ok := strings.Cut(f.text["tables.c"], " "+name+"[")
	if !ok {
		return nil
	}
	text, _, _ = strings.Cut(text, "\n};")
	for _, line := range strings.Split(text, "\n")[1:] {
		if m := aRow.FindStringSubmatch(line); m != nil {
			flat := inBraces.ReplaceAllStringFunc(m[1], func(s string) string { return strings.Trim(s, "{}") })
			rows = append(rows, strings.Split(flat, ", "))
		}
	}
	return rows
}

// number is a number of C, or -1.
func number(text string) int64 {
	n, err := strconv.ParseInt(strings.TrimRight(text, "UL"), 0, 64)
	if err != nil {
		return -1
	}
	return n
}

// every reports whether something holds of a column in every row of a table.
func every(table string, column int, holds func(string) bool) func(*firmware, *mutate.Mutant) bool {
	return func(f *firmware, _ *mutate.Mutant) bool {
		return !slices.ContainsFunc(f.table(table), func(row []string) bool { return column >= len(row) || !holds(row[column]) })
	}
}

// oneOf is that a table has one row.
func oneOf(table string) func(*firmware, *mutate.Mutant) bool {
	return func(f *firmware, _ *mutate.Mutant) bool { return len(f.table(table)) == 1 }
}

func only(text string) func(string) bool { return func(s string) bool { return s == text } }

// Columns of pw_states.
const (
	timersColumn, lengthColumn, poseColumn, posesColumn, routineColumn = 1, 3, 4, 5, 6
)

var (
	noTimer   = lacks("tables.c", `pw_timers\[\]`)
	noEnd     = every("pw_states", lengthColumn, only("PW_NEVER"))
	noPose    = every("pw_states", posesColumn, only("0"))
	noRoutine = every("pw_states", routineColumn, only("PW_NO_CUE"))
	noDefer   = lacks("tables.c", `\bPW_DEFER, `)
	noDone    = all(noDefer, lacks("tables.c", `\{PW_EVENT_DONE, PW_(GO|DO)`))
	noPulse   = lacks("tables.c", `PW_CUE_PULSE`)
	noDrift   = lacks("tables.c", `pw_drifts\[\]`)
	noFlicker = lacks("tables.c", `PW_FLICKER`)
	noRelease = lacks("tables.c", `PW_ON_RELEASE`)
	noRepeat  = lacks("tables.c", `PW_ON_REPEAT`)
	noWhole   = lacks("ir.c", `whole_frame`)
)

// noBack is that nothing leads back, or only what waits for a routine's end, of which
// there is none.
func noBack(f *firmware, m *mutate.Mutant) bool {
	return !f.has("tables.c", `PW_GO, PW_BACK\b`) && (!f.has("tables.c", `PW_DEFER, PW_BACK\b`) || noEnd(f, m))
}

// sameTimers is that a state's run of timers is the same from one place on and from another.
func sameTimers(f *firmware, m *mutate.Mutant) bool {
	timers := f.table("pw_timers")
	n := regexp.MustCompile(`\{PW_\w+, (\d+), «`).FindStringSubmatch(m.Marked)
	if n == nil {
		return false
	}
	a, b, count := number(m.Was), number(m.Is), number(n[1])
	return max(a, b)+count <= int64(len(timers)) && slices.EqualFunc(timers[a:a+count], timers[b:b+count], slices.Equal[[]string])
}

// onlyEnd is that nothing moves.
func onlyEnd(f *firmware, _ *mutate.Mutant) bool {
	cues := f.table("pw_cues")
	return len(cues) == 1 && cues[0][1] == "PW_CUE_END"
}

// black is that all lights are: what the strip may draw does not suffice for more. Nor is what
// a flicker draws seen in idle moves.
func black(f *firmware, m *mutate.Mutant) bool {
	if !noDrift(f, m) && !noFlicker(f, m) {
		return false
	}
	for _, row := range f.table("pw_lights") {
		for _, c := range row[1:7] {
			if number(c) != 0 {
				return false
			}
		}
	}
	return f.table("pw_lights") != nil
}

// oneAtOnce is that in every routine each cue comes after the one before it, in later rounds
// too. Nobody sees whether its end does.
func oneAtOnce(f *firmware, _ *mutate.Mutant) bool {
	cues := f.table("pw_cues")
	for _, s := range f.table("pw_states") {
		if s[routineColumn] == "PW_NO_CUE" {
			continue
		}
		for i := number(s[routineColumn]); cues[i][1] != "PW_CUE_END"; i++ {
			next := cues[i+1]
			if cues[i][1] == "PW_CUE_LOOP" {
				next = cues[number(cues[i][3])]
			}
			if next[0] == "0" && next[1] != "PW_CUE_END" {
				return false
			}
			if cues[i][1] == "PW_CUE_LOOP" {
				break
			}
		}
	}
	return true
}

// beginsLater is that no state's routine has a cue at its very beginning.
func beginsLater(f *firmware, _ *mutate.Mutant) bool {
	return !slices.ContainsFunc(f.table("pw_states"), func(s []string) bool {
		return s[routineColumn] != "PW_NO_CUE" && f.table("pw_cues")[number(s[routineColumn])][0] == "0"
	})
}

// blackOrders is that the line is where a transition's orders begin, and that all orders are
// for lights, which are black.
func blackOrders(f *firmware, m *mutate.Mutant) bool {
	return f.row("pw_orders", m) >= 0 && black(f, m) && !slices.ContainsFunc(f.table("pw_cues")[number(f.table("pw_orders")[0][0]):],
		func(cue []string) bool { return !strings.HasSuffix(cue[1], "LIGHT") })
}

// blackLit is that lights of the effect that a mutant names are black where they lead to.
func blackLit(f *firmware, m *mutate.Mutant) bool {
	return !slices.ContainsFunc(f.table("pw_lights"), func(row []string) bool {
		colour := row[1:4]
		if row[0] == "PW_FADE" {
			colour = row[4:7]
		}
		return row[0] == m.Is && slices.ContainsFunc(colour, func(c string) bool { return number(c) != 0 })
	})
}

// near is that no two colours are 128 apart.
func near(f *firmware, _ *mutate.Mutant) bool {
	for _, row := range f.table("pw_lights") {
		for _, c := range row[1:7] {
			if number(c) >= 128 {
				return false
			}
		}
	}
	return true
}

// settled are the choices that come about: a rule or a timer leads to them, at once or at
// a routine's end, if any ends. Those in turn, or those at random.
func (f *firmware) settled(m *mutate.Mutant, random bool) (choices []int64) {
	all := f.table("pw_choices")
	for _, to := range regexp.MustCompile(`PW_(\w+), PW_CHOICE \+ (\d+)U`).FindAllStringSubmatch(f.text["tables.c"], -1) {
		if n := number(to[2]); (to[1] == "GO" || !noEnd(f, m)) && (all[n][0] == "PW_AT_RANDOM") == random {
			choices = append(choices, n)
		}
	}
	return choices
}

func noRandomChoice(f *firmware, m *mutate.Mutant) bool { return f.settled(m, true) == nil }

func noChoice(f *firmware, m *mutate.Mutant) bool {
	return noRandomChoice(f, m) && f.settled(m, false) == nil
}

// noneBehind is that behind the states of each choice at random that comes about stands
// one, and none of them.
func noneBehind(f *firmware, m *mutate.Mutant) bool {
	states := slices.Concat(f.table("pw_choice_states")...)
	return !slices.ContainsFunc(f.settled(m, true), func(n int64) bool {
		choice := f.table("pw_choices")[n]
		first, end := number(choice[2]), number(choice[2])+number(choice[1])
		return end == int64(len(states)) || slices.Contains(states[first:end], states[end])
	})
}

// noDraw is that the machine draws nothing.
func noDraw(f *firmware, m *mutate.Mutant) bool {
	for _, row := range f.table("pw_timers") {
		if row[2] != row[3] {
			return false
		}
	}
	return noRandomChoice(f, m)
}

// timersOfEach is that both numbers are at least the most timers of a state.
func timersOfEach(f *firmware, m *mutate.Mutant) bool {
	most := int64(0)
	for _, row := range f.table("pw_states") {
		most = max(most, number(row[timersColumn]))
	}
	return number(m.Was) >= most && number(m.Is) >= most
}

// countsOne is that a mutant counts another way what there is one of.
func countsOne(f *firmware, m *mutate.Mutant) bool {
	what := regexp.MustCompile(`< (PW_\w+); \w+«`).FindStringSubmatch(m.Marked)
	return what != nil && f.has("tables.h", `#define `+what[1]+` 1\b`)
}

// oneTimer is that no state has two timers, and oneDrift that none has two drifts.
func oneTimer(f *firmware, _ *mutate.Mutant) bool { return f.has("tables.h", `PW_TIMERS_MOST 1\b`) }

func oneDrift(f *firmware, _ *mutate.Mutant) bool {
	return !slices.ContainsFunc(f.design.States, func(s model.State) bool { return len(s.Drift) > 1 })
}

// period is the shortest time between two frames of a button that is held, in milliseconds.
func (f *firmware) period() int64 {
	least := int64(1 << 16)
	for i := range f.design.Remote.Buttons {
		code, err := ir.ParseCode(f.design.Remote.Buttons[i].Code)
		if p := code.RepeatPeriod(); err == nil && p > 0 {
			least = min(least, int64(machine.Millis(p)))
		}
	}
	return least
}

// soonHeld is that a hold is over before a second frame can be, as it is and spoilt.
func soonHeld(f *firmware, m *mutate.Mutant) bool {
	was, is := number(m.Was), number(m.Is)
	return 0 < was && was < f.period() && 0 < is && is < f.period()
}

// soonHolds is that all holds are.
func soonHolds(f *firmware, _ *mutate.Mutant) bool {
	for _, row := range f.table("pw_press_events") {
		if n := number(row[2]); n >= f.period() || n == 0 {
			return false
		}
	}
	return true
}

// tooShort is that all that comes of longer presses comes of holds for less time than any
// frame takes.
func tooShort(f *firmware, _ *mutate.Mutant) bool {
	return !slices.ContainsFunc(f.table("pw_press_events"), func(row []string) bool { return number(row[2]) < 0 || number(row[2]) >= 10 })
}

// afterSilence is that the line comes after what the silence behind a raw frame leads to.
func afterSilence(f *firmware, m *mutate.Mutant) bool {
	return strings.TrimSpace(strings.Split(f.text["ir.c"], "\n")[m.Line-2]) == "raw_silence();"
}

// startsWithOne is that of no button's code in RC-5, whose first bit is a one, all bits but the
// last two are ones. The register then is never one of the numbers around 0x2000 when a frame
// that is a button's lacks a bit or two.
func startsWithOne(f *firmware, m *mutate.Mutant) bool {
	return !slices.ContainsFunc(f.table("pw_codes"), func(row []string) bool { return number(row[0])|0x800 >= 0x7FFC })
}

// apart is that two events of presses are not of one button, or that no frame brings about
// both: the one is of a release or of repeats, or the frame before comes between them.
func apart(f *firmware, m *mutate.Mutant) bool {
	rows := inBraces.FindAllStringSubmatch(m.Was, -1)
	if len(rows) != 2 {
		return false
	}
	one, two := strings.Split(rows[0][1], ", "), strings.Split(rows[1][1], ", ")
	a, b := number(one[2]), number(two[2])
	return one[0] != two[0] || a < 0 || b < 0 || b-a > f.release() || a-b > f.release()
}

// release is the most milliseconds between two frames of one press.
func (f *firmware) release() int64 {
	if m := regexp.MustCompile(`#define PW_RELEASE_MS (\d+)`).FindStringSubmatch(f.text["tables.h"]); m != nil {
		return number(m[1])
	}
	most := int64(0)
	for _, row := range f.table("pw_codes") {
		most = max(most, number(row[len(row)-1]))
	}
	return most
}

// noLongCode is that no button's code has as many bits as the decoder takes: its register
// does not reach into those that the mask looks at.
func noLongCode(f *firmware, m *mutate.Mutant) bool {
	for _, row := range f.table("pw_codes") {
		if number(row[0])&number(m.Was) != 0 {
			return false
		}
	}
	return true
}

// overCode is that no button sends what is below twice the one number and not below twice
// the other, or, where the limit is the same, what has a bit too many.
func overCode(f *firmware, m *mutate.Mutant) bool {
	limit := regexp.MustCompile(`_frame < 2 \* «?(0x\w+)UL`).FindStringSubmatch(m.Marked)
	toggle := regexp.MustCompile(`~(0x\w+)UL`).FindStringSubmatch(f.text["ir.c"])
	if limit == nil || toggle == nil {
		return false
	}
	one, other := number(limit[1]), number(m.Is)
	if other < 0 {
		other = 2 * one
	}
	return !slices.ContainsFunc(f.table("pw_codes"), func(row []string) bool {
		code := number(row[0])
		return slices.ContainsFunc([]int64{code, code | number(toggle[1])}, func(sent int64) bool {
			return 2*min(one, other) <= sent && sent < 2*max(one, other)
		})
	})
}

// mixedCode is that no button's bits are all zeros, and none's are all ones but for the
// last: at those a register is as full as the number that it is compared with.
func mixedCode(f *firmware, m *mutate.Mutant) bool {
	line := strings.Split(f.text["ir.c"], "\n")[m.Line-1]
	limit := regexp.MustCompile(`_frame (?:<|>=) (0x\w+)UL`).FindStringSubmatch(line)
	toggle := regexp.MustCompile(`~(0x\w+)UL`).FindStringSubmatch(f.text["ir.c"])
	if limit == nil || toggle == nil {
		return false
	}
	full := number(limit[1])
	for _, row := range f.table("pw_codes") {
		for _, sent := range []int64{number(row[0]), number(row[0]) | number(toggle[1])} {
			if sent == full || sent>>1 == full-1 {
				return false
			}
		}
	}
	return true
}

// row is which one of a table a line of tables.c is, or -1.
func (f *firmware) row(table string, m *mutate.Mutant) int {
	before, _, ok := strings.Cut(f.text["tables.c"], " "+table+"[")
	n := m.Line - 2 - strings.Count(before, "\n")
	if !ok || n < 0 || n >= len(f.table(table)) {
		return -1
	}
	return n
}

// unsent is that the line is a message that no cue sends, or where one begins that none
// sends and one ends that none sends.
func unsent(f *firmware, m *mutate.Mutant) bool {
	sent := func(n int) bool {
		return slices.ContainsFunc(f.table("pw_cues"), func(row []string) bool { return row[1] == "PW_CUE_SEND" && row[3] == strconv.Itoa(n) })
	}
	if n := f.row("pw_message_at", m); n >= 0 {
		return !sent(n) && !sent(n-1)
	}
	n := f.row("pw_message_bytes", m)
	return n >= 0 && !sent(n)
}

// noneEmpty is that every message has bytes.
func noneEmpty(f *firmware, _ *mutate.Mutant) bool {
	at := f.table("pw_message_at")
	return len(at) == len(slices.CompactFunc(slices.Clone(at), slices.Equal[[]string]))
}

// unsettled is that the line is of a choice that does not come about.
func unsettled(f *firmware, m *mutate.Mutant) bool {
	n := int64(max(f.row("pw_choices", m), f.row("pw_choice_states", m)))
	return n >= 0 && !slices.Contains(append(f.settled(m, true), f.settled(m, false)...), n)
}

// firstUnsettled is that the first choice does not come about.
func firstUnsettled(f *firmware, m *mutate.Mutant) bool {
	return !slices.Contains(append(f.settled(m, true), f.settled(m, false)...), 0)
}

// straight is that no move by some more follows a curve: each is linear, or has no frame
// in which a plan is read.
func straight(f *firmware, _ *mutate.Mutant) bool {
	return !slices.ContainsFunc(f.table("pw_cues"), func(cue []string) bool {
		return strings.HasPrefix(cue[1], "PW_CUE_BY_") && cue[1] != "PW_CUE_BY_LINEAR" && number(cue[4]) > 1
	})
}

// oneMessage is that all cues that send anything send the same.
func oneMessage(f *firmware, _ *mutate.Mutant) bool {
	var sent []string
	for _, row := range f.table("pw_cues") {
		if row[1] == "PW_CUE_SEND" && !slices.Contains(sent, row[3]) {
			sent = append(sent, row[3])
		}
	}
	return len(sent) <= 1
}

// neverSlow is that the first way after a reset is as fast as any.
func neverSlow(f *firmware, _ *mutate.Mutant) bool {
	return !slices.ContainsFunc(f.table("pw_servos"), func(row []string) bool { return number(row[4]) < number(row[3]) })
}

// drifting is that the state whose pose the row is of has the same servo begin another
// move with the next frame.
func drifting(f *firmware, m *mutate.Mutant) bool {
	name, row, ok := strings.Cut(strings.TrimPrefix(m.Marked, "/* pose of "), " */ ")
	if !ok || noDrift(f, m) {
		return false
	}
	cue := strings.Split(strings.NewReplacer("«", "", "»", "", "{", "", "}", "").Replace(strings.TrimSpace(row)), ", ")
	drifts := f.table("pw_drifts")
	for i := range f.design.States {
		if s := f.table("pw_states")[i]; f.design.States[i].Name == name {
			first, n := number(s[len(s)-2]), number(s[len(s)-1])
			return slices.ContainsFunc(drifts[first:first+n], func(d []string) bool { return d[0] == cue[2] && number(d[4]) <= 1 })
		}
	}
	return false
}

// goesOn is that where a speed, the slow one too, is a multiple of what its servo gains in a
// frame, the sum goes on for a frame within 15 bits.
func goesOn(f *firmware, _ *mutate.Mutant) bool {
	return !slices.ContainsFunc(f.table("pw_servos"), func(s []string) bool {
		gains := number(s[5])
		return slices.ContainsFunc([]int64{number(s[3]), number(s[4])}, func(fastest int64) bool { return fastest%gains == 0 && fastest+2*gains > 0x7FFF })
	})
}

// soonBack is that the numbers are gains in a frame with which a servo is at its fastest in a
// frame, whichever way it went before.
func soonBack(f *firmware, m *mutate.Mutant) bool {
	n := f.row("pw_servos", m)
	if n < 0 || !strings.Contains(m.Marked, "«"+m.Was+"»}") {
		return false
	}
	s := f.table("pw_servos")[n]
	return min(number(m.Was), number(m.Is)) >= 2*max(number(s[3]), number(s[4]))
}

// neverAsFast is that the numbers are speeds that the servo does not come to: it would have to
// gain them, and lose them again, within its travel. Speeds are 1/32 of half a microsecond a
// frame.
func neverAsFast(f *firmware, m *mutate.Mutant) bool {
	n := f.row("pw_servos", m)
	if n < 0 || !regexp.MustCompile(`\{\d+, \d+, \d+, («\d+»|\d+, «\d+»),`).MatchString(m.Marked) {
		return false
	}
	s, least := f.table("pw_servos")[n], min(number(m.Was), number(m.Is))
	gains := number(s[5])
	return least > gains && (least-gains)*(least-gains) > 32*(number(s[1])-number(s[0]))*gains
}

// soonFastest is that a frame is enough for every servo to be at its fastest.
func soonFastest(f *firmware, _ *mutate.Mutant) bool {
	return !slices.ContainsFunc(f.table("pw_servos"), func(s []string) bool { return number(s[5]) < max(number(s[3]), number(s[4])) })
}

// startPoses is that the start state's pose sends every servo somewhere.
func startPoses(f *firmware, _ *mutate.Mutant) bool {
	sent := map[string]bool{}
	for _, cue := range f.startMoves() {
		sent[cue[2]] = true
	}
	return len(sent) == len(f.table("pw_servos"))
}

// startState is the row of the state that power-up enters.
func (f *firmware) startState() []string { return f.table("pw_states")[f.design.Start()] }

// startMoves are the cues of the start state's pose that send a servo somewhere.
func (f *firmware) startMoves() (moves [][]string) {
	s := f.startState()
	for _, cue := range f.table("pw_cues")[number(s[poseColumn]):][:number(s[posesColumn])] {
		switch cue[1] {
		case "PW_CUE_LINEAR", "PW_CUE_SMOOTH", "PW_CUE_IN", "PW_CUE_OUT":
			moves = append(moves, cue)
		}
	}
	return moves
}

// startsAway is that the start state sends no servo, over some time, to the side on which a
// mutant has it stand: the place is corrected in the first step, and whoever seems to be
// ahead of its plan waits for it there, as it does in a plan's first step.
func startsAway(f *firmware, m *mutate.Mutant) bool {
	if routine := f.startState()[routineColumn]; routine != "PW_NO_CUE" && f.table("pw_cues")[number(routine)][0] == "0" {
		return false
	}
	return !slices.ContainsFunc(f.startMoves(), func(cue []string) bool {
		to, rest := number(cue[3]), number(f.table("pw_servos")[number(cue[2])][2])
		return cue[4] != "0" && (to > rest) != (m.Is == "257") && to != rest
	})
}

// beyond is that a servo is sent to an end of its travel, or beyond that, in no more than a
// frame, and that no move goes on from there by some more that does not lead beyond it too.
func beyond(f *firmware, m *mutate.Mutant) bool {
	cue := regexp.MustCompile(`PW_CUE_\w+, (\d+), «`).FindStringSubmatch(m.Marked)
	if cue == nil {
		return false
	}
	s, was, is := f.table("pw_servos")[number(cue[1])], number(m.Was), number(m.Is)
	way := int64(1)
	if is < was {
		way = -1
	}
	return (was == number(s[0]) && way < 0 || was == number(s[1]) && way > 0) &&
		!slices.ContainsFunc(f.table("pw_cues"), func(c []string) bool {
			return strings.HasPrefix(c[1], "PW_CUE_BY_") && c[2] == cue[1] && int64(int16(number(c[3])))*way < 0
		})
}

// firstFrame is that both are moves to the same place, and that either none of them begins
// with a 65536th of its way, as one that slows down does, or that this is less than 1/32 of
// half a microsecond: a servo's places are multiples of that.
func firstFrame(f *firmware, m *mutate.Mutant) bool {
	cue := regexp.MustCompile(`», (\d+), (\d+), (\d+)\}`).FindStringSubmatch(m.Marked)
	by := strings.HasPrefix(m.Was, "PW_CUE_BY_")
	shape := regexp.MustCompile(`^PW_CUE_(BY_)?(LINEAR|SMOOTH|IN|OUT)$`)
	if cue == nil || !shape.MatchString(m.Is) || by != strings.HasPrefix(m.Is, "PW_CUE_BY_") {
		return false
	}
	if cue[3] == "0" || !strings.HasSuffix(m.Was, "_OUT") && !strings.HasSuffix(m.Is, "_OUT") {
		return true
	}
	s, to := f.table("pw_servos")[number(cue[1])], number(cue[2])
	lowest, highest := number(s[0]), number(s[1])
	if by {
		return highest-lowest <= 7*256
	}
	return max(to-lowest, highest-to) <= 7*256
}

// endsLead is that every end of a routine leads out of its state.
func endsLead(f *firmware, _ *mutate.Mutant) bool {
	p := machine.Compile(f.design)
	for s := range f.design.States {
		if m := p.Done(machine.StateID(s)); p.Length[s] >= 0 && (m == nil || m.Stays()) {
			return false
		}
	}
	return true
}

// loopsAtOnce is that a state's routine begins with the end of a round, after which it begins
// as before.
func loopsAtOnce(f *firmware, m *mutate.Mutant) bool {
	cues, is := f.table("pw_cues"), number(m.Is)
	if !regexp.MustCompile(`\{PW_\w+, \d+, \d+, \w+, \d+, \d+, «`).MatchString(m.Marked) || is < 0 || is >= int64(len(cues)) {
		return false
	}
	cue := cues[is]
	return cue[0] == "0" && cue[1] == "PW_CUE_LOOP" && cue[3] == m.Was
}

// poses are a state's pose, as it is and spoilt; nil where it has none that a mutant spoils.
func (f *firmware) poses(m *mutate.Mutant) (all [][][]string) {
	row := regexp.MustCompile(`\{PW_\w+, \d+, \d+, \w+, (.*?), (.*?),`).FindStringSubmatch(m.Marked)
	if row == nil {
		return nil
	}
	for _, is := range []string{m.Was, m.Is} {
		read := strings.NewReplacer("«"+m.Was+"»", is)
		first, n := number(read.Replace(row[1])), number(read.Replace(row[2]))
		cues := f.table("pw_cues")
		if first < 0 || n < 0 || first+n > int64(len(cues)) {
			return nil
		}
		all = append(all, cues[first:first+n])
	}
	return all
}

// samePose is that the pose is the same.
func samePose(f *firmware, m *mutate.Mutant) bool {
	all := f.poses(m)
	return all != nil && slices.EqualFunc(all[0], all[1], slices.Equal[[]string])
}

// blackPose is that the pose, and the other, is of lights only, which are black.
func blackPose(f *firmware, m *mutate.Mutant) bool {
	all := f.poses(m)
	return all != nil && black(f, m) && !slices.ContainsFunc(slices.Concat(all...), func(cue []string) bool { return !strings.HasSuffix(cue[1], "LIGHT") })
}

// noneOfOne is that no hold is for a millisecond.
func noneOfOne(f *firmware, _ *mutate.Mutant) bool {
	return !slices.ContainsFunc(f.table("pw_press_events"), func(row []string) bool { return number(row[2]) == 1 })
}

// loudness is how loud tracks are, a step each; the second of two stands that many bits up.
func (f *firmware) loudness(bits int64) (all []int64) {
	for _, row := range f.table("pw_loudness") {
		for _, two := range row {
			all = append(all, number(two)&15, number(two)>>bits)
		}
	}
	return all
}

// loudAnyway is that whatever stands as far up as a mutant says is as loud as can be, and so
// is what stands where it should.
func loudAnyway(f *firmware, m *mutate.Mutant) bool {
	was, is := f.loudness(number(m.Was)), f.loudness(number(m.Is))
	return !slices.ContainsFunc(f.table("pw_follows"), func(v []string) bool {
		for n := number(v[1]); n < number(v[1])+number(v[2]); n++ {
			if gain := number(v[5]); min(was[n]*gain, 0xFFFF) != min(is[n]*gain, 0xFFFF) {
				return true
			}
		}
		return false
	})
}

// sameVoice is that what follows a track is in the same places.
func sameVoice(f *firmware, m *mutate.Mutant) bool {
	n := f.row("pw_follows", m)
	marks := regexp.MustCompile(`\{(.*)\}`).FindStringSubmatch(m.Marked)
	if n < 0 || marks == nil {
		return false
	}
	loudness := f.loudness(4)
	places := func(is string) (all []int64) {
		var v []int64
		for _, n := range strings.Split(strings.ReplaceAll(marks[1], "«"+m.Was+"»", is), ", ") {
			v = append(v, number(n))
		}
		first, frames, quiet, loud, gain, attack, release := v[1], v[2], v[3], v[4], v[5], v[6], v[7]
		if all = append(all, v[0]); first+frames > int64(len(loudness)) {
			return nil
		}
		for at, level := int64(0), int64(0); at < frames || level > 0; at++ {
			want := int64(0)
			if at < frames {
				want = min(loudness[first+at]*gain, 0xFFFF)
			}
			if want > level {
				level += (want - level) * attack >> 8
			} else {
				level -= ((level-want)*release + 255) >> 8
			}
			if loud > quiet {
				all = append(all, quiet+(loud-quiet)*level>>16)
			} else {
				all = append(all, quiet-(quiet-loud)*level>>16)
			}
		}
		return all
	}
	trim := func(all []int64) []int64 { // what it ends with lasts
		for n := len(all); n > 2 && all[n-1] == all[n-2]; n-- {
			all = all[:n-1]
		}
		return all
	}
	return slices.Equal(trim(places(m.Was)), trim(places(m.Is)))
}

// beforeEnd is that the next line is where a cue that ends a routine is played.
func beforeEnd(f *firmware, m *mutate.Mutant) bool {
	return strings.TrimSpace(strings.Split(f.text[m.File], "\n")[m.Line]) == "case PW_CUE_END:"
}

// fadesAtOnce is that the line is of a light that fades in no time, so that its first colour is
// never seen.
func fadesAtOnce(f *firmware, m *mutate.Mutant) bool {
	n := f.row("pw_lights", m)
	return n >= 0 && !slices.ContainsFunc(f.table("pw_cues"), func(cue []string) bool {
		return strings.HasSuffix(cue[1], "LIGHT") && cue[3] == strconv.Itoa(n) && cue[4] != "0"
	})
}

// anyIgnores is that the rules of any state only ignore, as no rule would.
func anyIgnores(f *firmware, _ *mutate.Mutant) bool {
	_, rules, _ := strings.Cut(f.text["tables.c"], "    /* any */\n")
	rules, _, ok := strings.Cut(rules, "\n};")
	return ok && !strings.Contains(rules, "PW_GO") && !strings.Contains(rules, "PW_DEFER") && !strings.Contains(rules, "PW_DO")
}

// toBlack is that the line asks for a light that is black either way.
func toBlack(f *firmware, m *mutate.Mutant) bool {
	cue := regexp.MustCompile(`», \d+, (\d+), \d+\}`).FindStringSubmatch(m.Marked)
	if cue == nil {
		return false
	}
	light := f.table("pw_lights")[number(cue[1])]
	return light[0] == "PW_SOLID" && !slices.ContainsFunc(light[1:4], func(c string) bool { return number(c) != 0 })
}

// togglesAtOnce is that lights are turned off in no time, and no other shows then.
func togglesAtOnce(f *firmware, _ *mutate.Mutant) bool {
	return !f.has("player.c", `top_layer`) && !slices.ContainsFunc(f.table("pw_cues"), func(cue []string) bool { return cue[1] == "PW_CUE_TOGGLE_LIGHT" && cue[4] != "0" })
}

// unfired is that the line is how long a pulse lasts that nothing fires.
func unfired(f *firmware, m *mutate.Mutant) bool {
	return f.row("pw_pulse_hold", m) >= 0 && noPulse(f, m)
}

// kindless is that no state is of a kind that has rules.
func kindless(f *firmware, _ *mutate.Mutant) bool {
	rows, states := f.table("pw_rows"), f.table("pw_states")
	return !slices.ContainsFunc(states, func(s []string) bool {
		kind := len(states) + slices.Index([]string{"PW_DORMANT", "PW_AMBIENT", "PW_PERFORMING"}, s[0])
		return rows[kind][0] != rows[kind+1][0]
	})
}

// afterPulse is that the line before is where a pulse is fired.
func afterPulse(f *firmware, m *mutate.Mutant) bool {
	return strings.HasPrefix(strings.TrimSpace(strings.Split(f.text[m.File], "\n")[m.Line-2]), "board_pulse(")
}

// firstDrift is that every state that has idle moves begins with the first of all.
func firstDrift(f *firmware, _ *mutate.Mutant) bool {
	return !slices.ContainsFunc(f.table("pw_states"), func(s []string) bool { return s[len(s)-1] != "0" && s[len(s)-2] != "0" })
}

// rawMisses is that no frame of as few times as any raw one has a button's fingerprint: all
// of them are tried. Each time is clearly longer than the one before it, clearly shorter, or
// neither; the first mark and the first space are longer than none.
func rawMisses(f *firmware, _ *mutate.Mutant) bool {
	codes := map[uint32]bool{}
	for _, row := range f.table("pw_codes") {
		codes[uint32(number(row[0]))] = true
	}
	bit := func(hash uint32, set bool) uint32 {
		one := hash&1 == 1
		if hash >>= 1; one != set {
			hash ^= ir.RawPolynomial
		}
		return hash
	}
	var hits func(hash uint32, times int) bool
	hits = func(hash uint32, times int) bool {
		if times == ir.RawLeast {
			return codes[hash]
		}
		for n := range 3 {
			if longer := bit(bit(hash, n == 1), n == 2); (times >= 2 || n == 1) && hits(longer, times+1) {
				return true
			}
		}
		return false
	}
	return !hits(0, 0)
}

// evenMost is that the most times of a raw frame are even.
func evenMost(f *firmware, _ *mutate.Mutant) bool {
	return f.has("ir.c", `#define RAW_MOST \d*[02468]\n`)
}

// onceRepeated is that repeat_frame is called where that has been asked, and nowhere else.
func onceRepeated(f *firmware, _ *mutate.Mutant) bool {
	return strings.Count(f.text["ir.c"], "repeat_frame(") == 2 // the function, and whole_frame
}

// aPassEach is that with a pixel in a pass all strips are sent in the same millisecond as
// with eight.
func aPassEach(f *firmware, _ *mutate.Mutant) bool {
	rounds, slow := len(f.table("pw_servos")), len(f.table("pw_servos"))
	for _, row := range f.table("pw_strips") {
		count := int(number(row[1]))
		rounds, slow = rounds+(count+7)/8+1, slow+count+1
		if (rounds-1)/10 != (slow-1)/10 {
			return false
		}
	}
	return true
}

// ruled are arguments that hold in a design of which something holds, in the functions
// that are named.
var ruled = []struct {
	file, in, mutant, why string
	holds                 func(*firmware, *mutate.Mutant) bool
}{
	{"machine.c", "take", `here\.kind != «PW_PERFORMING»`, "no state performs, and none is of the other kind", every("pw_states", 0, only("PW_DORMANT"))},
	{"machine.c", "pw_step", `here\.length = «PW_NEVER»|^«        here\.length = `, "every end of a routine leads out of its state", endsLead},
	{"machine.c", "take", `target «>=» PW_CHOICE.* => >$`, "the first choice does not come about", firstUnsettled},
	{"machine.c", "take", `target >= PW_CHOICE|target «>=» PW_CHOICE|settle\(&pw_choices`, "no event leads to a choice", noChoice},
	{"machine.c", "settle", `\blast\b|chosen|uint8_t i |\bat«?\+\+`, "no event leads to a choice at random, and one in turn is settled before", noRandomChoice},
	{"machine.c", "settle", `i «<» count.* => <=$`, "behind the states of a choice that comes about stands none of them", noneBehind},
	{"machine.c", "pw_start", `sequence = `, "nothing is drawn", all(noDraw, noDrift, noFlicker)},
	{"machine.c", "fire_timer", `due\[first\] = «?PW_NEVER`, "all timers lead out of the state", every("pw_timers", 0, only("PW_GO"))},
	{"machine.c", "enter|pw_step", `time_here`, "no state has a timer or an end", all(noTimer, noEnd)},
	{"machine.c", "pw_step", `time_here «>=» here\.length.* => >$|here\.length = «PW_NEVER»|dispatch\(PW_EVENT_DONE\)|deferred`, "no routine ends", noEnd},
	{"machine.c", "enter", `deferred`, "nothing is deferred, and no routine ends", all(noDefer, noEnd)},
	{"machine.c", "act_on", `deferred = target|PW_DEFER`, "nothing is deferred: what is ignored leads nowhere", noDefer},
	{"machine.c", "pw_step", `dispatch\(PW_EVENT_DONE\)|here\.length|take\(deferred\)|deferred`, "nothing comes of a routine's end", noDone},
	{"machine.c", "take", `«PW_BACK»|target = back;`, "nothing leads back", noBack},
	{"player.c", "player_tick|play_cue", `p->|pulses|board_pulse|PW_PULSES`, "no pulse is fired", noPulse},
	{"player.c", "player_enter", `^«        play_cue\(\(uint16_t\)\(state|state->pose «|pose_count; i«|i = «0»; i < state->pose`, "no state has a pose", noPose},
	{"player.c", "player_enter", `^«    play_due\(\);»`, "no routine begins with what it asks for at once", beginsLater},
	{"player.c", "player_enter", `pose_count; i«\+\+»`, "no pose has two cues", every("pw_states", posesColumn, func(s string) bool { return number(s) <= 1 })},
	{"player.c", "player_enter", `i «<» state->pose_count`, "no state has a pose, and the one cue is the end of a routine", all(noPose, onlyEnd)},
	{"player.c", "play_due", `n«\+\+»`, "no two cues of a routine come at once, but for its end", oneAtOnce},
	{"player.c", "await_cue|play_due|player_enter|player_tick|player_start", `next_cue|await_cue|play_due|wait|n < |n = |n«`, "no state has a routine", noRoutine},
	{"tables.c", "", `^/\* kind, .*\{PW_\w+, \d+, \d+, \w+, \d+, «0», PW_NO_CUE.* => 1$`, "the one cue of a design in which nothing moves is its end", onlyEnd},
	{"tables.c", "", `^/\* kind, .*«PW_NO_CUE»`, "the one cue of a design in which nothing moves is its end", onlyEnd},
	{"tables.c", "", `^/\* kind, .*\{PW_\w+, «0», 0,.* => 1$`, "no state has a timer", noTimer},
	{"tables.c", "", `^/\* kind, .*\{PW_\w+, «\d+»`, "more timers than any state has are not looked at", timersOfEach},
	{"tables.c", "", `^/\* kind, .*\{PW_\w+, \d+, «\d+»`, "the timers there are the same", sameTimers},
	{"ir.c", "post_press_events|repeat_frame", `after «>» from.* => >=|held «\+» frame_age`, "all holds are over before a second frame, or there are none", soonHolds},
	{"ir.c", "post_press_events", `after «<=» to.* => <$`, "no hold is for as long as a frame takes, and no event is a release or a repeat", tooShort},
	{"ir.c", "rc5_take", `rc5_frame («>=» 0x2000UL.* => >$|>= «0x2000UL».* => 819[13]UL$)`, "the first bit is a one, so no register lies between the two numbers", startsWithOne},
	{"ir.c", "first_frame", `held = «0».* => 1$`, "all holds are over before a second frame, and none is as short", all(soonHolds, noneOfOne)},
	{"ir.c", "let_go|first_frame", `^«        post_press_events\(|RELEASE - «1U».* => 0U$|«PW_ON_RELEASE|down «!=»|if \(!\(down|^«    let_go\(\);»`, "no event is a button's release", noRelease},
	{"ir.c", "let_go", `RELEASE - «1U».* => 2U$`, "no event is a button's repeat, and no hold as long", noRepeat},
	{"ir.c", "repeat_frame", `frame_age = «?0`, "all holds are over before a second frame, and nothing comes of others", all(soonHolds, noRelease, noRepeat, noWhole)},
	{"ir.c", "", `_frame & «0x\w+».* => (4096|131072|1048576)UL$`, "no button's code is so long", noLongCode},
	{"ir.c", "", `_frame < 2 \* «0x\w+»|mark «&&» \w+_half == 0 && |_half == 0 «&&» \w+_frame < 2 `, "a frame with a bit more or less is no button's, and no space ends one", overCode},
	{"ir.c", "", `_frame («(<|>=)» 0x|(<|>=) «0x)\w+UL`, "no button's bits are all zeros, or all ones but for the last", mixedCode},
	{"ir.c", "repeat_frame", `return;|down «!=» button`, "who calls it has asked", onceRepeated},
	{"ir.c", "raw_time", `^«        return;»`, "no time has come since then, and what comes next is not a mark", afterSilence},
	{"ir.c", "raw_silence", `raw_times «>=» RAW_LEAST`, "no frame of so few times has a button's fingerprint", rawMisses},
	{"ir.c", "raw_silence", `raw_times «<=» RAW_MOST.* => <$`, "a frame ends with a mark, so it has not that many times", evenMost},
	{"player.c", "part_of", `part >= whole \? «256U».* => 257U$`, "no colours are 128 apart", near},
	{"player.c", "start_light", `l->level = «256».* => 25[57]$`, "no colours are 128 apart", near},
	{"player.c", "work_lights", `PIXELS_A_PASS «&&»`, "all strips take a pass: it is longer", every("pw_strips", 1, func(s string) bool { return number(s) >= 8 })},
	{"player.c", "work_lights", `work_pixel < count; i«\+\+»`, "the strips are so short that a pass a pixel is in time", aPassEach},
	{"player.c", "mix|part_of|covers|top_layer|paint|set_level|lit|start_light", ``, "all lights are black", black},
	{"player.c", "start_light", `look\.effect = «PW_SOLID».* => PW_DORMANT$`, "lights are turned off in no time, and dark is black too", togglesAtOnce},
	{"player.c", "start_light", `^«    l->beat = 0;`, "no period is longer than a frame", every("pw_lights", 7, only("1"))},
	{"tables.c", "", `«PW_CUE_LIGHT», .* => PW_CUE_TOGGLE_LIGHT$`, "the light is black, whatever was on", toBlack},
	{"player.c", "play_cue", `start_light\(.*`, "all lights are black", black},
	{"player.c", "pw_colour", `for \(uint8_t i|colour = colour`, "all lights are black", black},
	{"player.c", "", `^static const uint8_t primaries.* \{.*«`, "all lights are black", black},
	{"player.c", "light_frame", `l->|PW_LAYERS|layers|set_level`, "all lights are black", black},
	{"player.c", "player_work", `^        return «true»; => false$`, "there is one servo: after it nothing is left to do", all(oneOf("pw_servos"), lacks("player.c", `work_lights|work_message`))},
	{"player.c", "work_lights", `^        return «true»; => false$`, "there is one strip: after it nothing is left to do", oneOf("pw_strips")},
	{"player.c", "work_lights", `^        work_pixel = «0»|^«        work_pixel = 0;`, "there is one strip: light_frame sets it before the next", oneOf("pw_strips")},
	{"player.c", "work_lights", `work_strip«\+\+»`, "there is one strip: either way it is past the last", oneOf("pw_strips")},
	{"player.c", "", `drifts; i«\+\+»|first_drift «\+» i`, "no state has two drifts: either way it is past the last, and there is none but the first", oneDrift},
	{"machine.c", "", `first_timer «\+» `, "no state has two timers: there is none but the first", oneTimer},
	{"machine.c", "", `< PW_\w+; \w+«\+\+»`, "there is one: either way it is past the last", countsOne},
	{"player.c", "", `< PW_\w+; \w+«\+\+»`, "there is one: either way it is past the last", countsOne},
	{"ir.c", "", `< PW_\w+; \w+«\+\+»`, "there is one: either way it is past the last", countsOne},
	{"player.c", "paint", `pixel «[-*]» |\^» pixel|pixel \* «0x9E37U»`, "lights have no pixel but the first of their strip", every("pw_layers", 2, only("0"))},
	{"player.c", "lit", `effect != «PW_DARK».* => PW_`, "a light of that effect is black, and so is a dark one", blackLit},
	{"player.c", "player_start", `sequence`, "all lights are black, and nothing drifts", all(black, noDrift)},
	{"tables.c", "", `PW_CUE_(TOGGLE_)?LIGHT|^/\* effect, `, "all lights are black", black},
	{"tables.c", "", `^/\* the transition from .*«`, "orders are for lights, and all lights are black", blackOrders},
	{"tables.c", "", `^/\* kind, `, "the routine begins with the end of a round, and then as before", loopsAtOnce},
	{"tables.c", "", `^/\* kind, .*\{PW_\w+, \d+, \d+, \w+, («\d+»|\d+, «\d+»), `, "the pose is the same", samePose},
	{"tables.c", "", `^/\* kind, .*\{PW_\w+, \d+, \d+, \w+, («\d+»|\d+, «\d+»), `, "all lights are black, and the pose is of lights", blackPose},
	{"tables.c", "", `^/\* output, levels from .*«\d+»`, "what follows the track is in the same places", sameVoice},
	{"tables.c", "", `^/\* shortest, longest, `, "it is at its fastest after a frame, either way", soonBack},
	{"tables.c", "", `^/\* shortest, longest, `, "the servo never is as fast", neverAsFast},
	{"tables.c", "", `^.*    «\d+»,`, "no pulse is fired", unfired},
	{"tables.c", "", `\{PW_FADE, \{[^}]*«`, "the light fades in no time", fadesAtOnce},
	{"tables.c", "", `\{0, 0, «0»\}.* => 1$`, "its strip has no second pixel", every("pw_strips", 1, only("1"))},
	{"tables.c", "", `\{\d+, PW_EVENT_HOLD_\w+, «\d+U»`, "a hold that is over before a second frame", soonHeld},
	{"tables.c", "", `(?s)«    \{\d+, PW_EVENT_(HOLD|REPEAT|RELEASE)_.*\n    \{\d+, PW_EVENT_`, "no frame brings about both", apart},
	{"tables.c", "", `\*/     .*0x[0-9A-F]{2}|«0x[0-9A-F]{2}»|    «\d+»,`, "the message is never sent", unsent},
	{"player.c", "work_message", `outbox_byte «<» pw_word\(at \+ 1\).* => <=$`, "a message that has been sent has left the outbox, and none is empty", noneEmpty},
	{"player.c", "work_message", `^«        outbox_first = `, "all messages are the same", oneMessage},
	{"player.c", "step_servo", `m->slow|stop «?==|«==» 0 && stop|== «0» && stop|stop == |s\.fastest = s\.slow`, "the first way after a reset is as fast as any", neverSlow},
	{"tables.c", "", `^/\* any \*/ +«\d+»,.* => `, "TestEveryPair: the rules of any state that are left out are to ignore", func(_ *firmware, m *mutate.Mutant) bool { return number(m.Is) < number(m.Was) }},
	{"player.c", "can_stop", `slower - accel «>=» fastest.* => >$`, "at its fastest after a whole number of frames, a servo is so either way", goesOn},
	{"player.c", "step_servo", `speed = was «-» |^«        speed = was - `, "no servo that slows down needs more than a frame", soonFastest},
	{"player.c", "can_stop", `way «-=»|^«        way -= |way «/» m`, "every servo is at its fastest after a frame", soonFastest},
	{"player.c", "pw_steer", `servo «>=» PW_SERVOS|part|backwards|pw_copy|end_follow|start_move`, "all states are dormant: nothing is steered", every("pw_states", 0, only("PW_DORMANT"))},
	{"player.c", "voice_frame", `two >> «4»`, "either way the track is as loud as can be", loudAnyway},
	{"player.c", "player_enter", `^«    first_drift = `, "all idle moves are of the first", firstDrift},
	{"player.c", "play_cue", `^«        break;»`, "no pulse is fired", all(noPulse, afterPulse)},
	{"player.c", "play_cue", `^«        break;»`, "no state has a routine: the end of one, which comes next, changes nothing", all(noRoutine, beforeEnd)},
	{"player.c", "play_cue", `what «-» PW_CUE_BY|PW_CUE_BY_LINEAR «\+»|^«        what = \(uint8_t\)\(what`, "no move by some more follows a curve, and no number beyond theirs is one's", straight},
	{"machine.c", "dispatch", `^«        rule = look_in\(PW_ROW_ANY`, "the rules of any state only ignore", anyIgnores},
	{"machine.c", "fire_timer", `PW_TIMERS_MOST; i«\+\+»`, "no state has more than two timers: after the second it is the first's turn again, and then it ends", lacks("tables.h", `PW_TIMERS_MOST ([3-9]|\d\d)`)},
	{"ir.c", "rc6_take", `^«        rc6_next = HALVES;`, "it waits for them already", all()},
	{"player.c", "start_move", `^«    m->shape = shape;`, "no move follows a curve: the shape is not read", lacks("player.c", `->shape [^=]|->shape\)`)},
	{"machine.c", "dispatch", `^«        rule = look_in\(\(uint8_t\)\(PW_ROW_KIND`, "no state is of a kind that has rules", kindless},
	{"machine.c", "dispatch", `PW_ROW_KIND «\+»`, "all states are of the first kind", every("pw_states", 0, only("PW_DORMANT"))},
	{"tables.c", "", `^/\* turn, states and the first .*«\w+».* => `, "the choice does not come about", unsettled},
	{"player.c", "further", `to «<» lowest.* => <=$|to «>» highest.* => >=$`, "on the limit it is the limit either way", all()},
	{"player.c", "player_start", `m->to = «?width|m->frames = «0».* => 1$|^«        m->frames = 0;`, "the start state's pose sends every servo somewhere before the first frame", startPoses},
	{"player.c", "player_start", `\(int32_t\)width («\*»|\* «256»)`, "what does not match is corrected in the first step, and no plan is followed before", startsAway},
	{"tables.c", "", `«PW_CUE_(BY_)?(LINEAR|SMOOTH|IN|OUT)», \d+, \d+, [01]\}`, "in a move's first frame its plan is where it begins, or nearly so, whatever its curve", firstFrame},
	{"tables.c", "", `PW_CUE_(LINEAR|SMOOTH|IN|OUT), \d+, «\d+», [01]\},`, "beyond its travel a servo stays at the end", beyond},
	{"tables.c", "", `^/\* pose of .*PW_CUE_(LINEAR|SMOOTH|IN|OUT), \d+, \d+, «\d+»`, "the next frame begins another move", drifting},
}

var rulings = sync.OnceValue(func() (all []*regexp.Regexp) {
	for _, r := range ruled {
		all = append(all, regexp.MustCompile(r.mutant))
	}
	return all
})

// ruling is the rule by which a mutant does what the sketch does, or "".
func (f *firmware) ruling(m *mutate.Mutant) string {
	for i, r := range ruled {
		if f.rules(i, m) {
			return r.why
		}
	}
	return ""
}

func (f *firmware) rules(i int, m *mutate.Mutant) bool {
	r := &ruled[i]
	return r.file == m.File && rulings()[i].MatchString(m.Marked+" => "+m.Is) &&
		(r.in == "" || slices.Contains(strings.Split(r.in, "|"), f.function(m))) && r.holds(f, m)
}

// function is the name of the one that a mutant is in.
func (f *firmware) function(m *mutate.Mutant) (name string) {
	for _, line := range strings.SplitN(f.text[m.File], "\n", m.Line+1)[:m.Line] {
		if head := heading.FindStringSubmatch(line); head != nil {
			name = head[1]
		}
	}
	return name
}

var heading = regexp.MustCompile(`^}?(?:static )?\w[\w ]*?[ *](\w+)\([^;]*\)$`)

// Every rule holds for a mutant of one of the drawn designs, and finds its tables.
func TestRules(t *testing.T) {
	if testing.Short() {
		t.Skip("spoils much; the whole run does it")
	}
	used := make([]bool, len(ruled))
	for _, d := range randomDesigns(t, 20) {
		f := newFirmware(t, d)
		assert.Len(t, f.table("pw_states"), len(d.States))
		assert.Len(t, f.table("pw_codes"), len(d.Remote.Buttons))
		mutants := map[string][]mutate.Mutant{}
		for i, r := range ruled {
			if used[i] {
				continue
			}
			if mutants[r.file] == nil {
				mutants[r.file] = mutate.Mutants(r.file, f.text[r.file])
			}
			used[i] = slices.ContainsFunc(mutants[r.file], func(m mutate.Mutant) bool { return f.rules(i, &m) })
		}
	}
	for i, r := range ruled {
		assert.True(t, used[i], "a rule for no mutant of %s: %s", r.file, r.mutant)
	}
}
