package editor

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/google/renameio/v2/maybe"

	"propwright/cmd/propwright/editor/pane"
	"propwright/gen/letters"
	"propwright/gen/trace"
	"propwright/model"
	"propwright/model/edit"
)

const inRoutines scope = "routines"

// routines shows the routines, the cue sheet of one and its lanes in time.
type routines struct {
	*workspace
	list  sheet
	cues  sheet
	inCue bool // the cursor is in the cue sheet
	of    int  // the routine whose cues are listed
	cueY  int  // the screen's line of the first cue

	marked map[int]bool     // cues of that routine, by their index in the file
	among  int              // how many cues it had when they were marked
	copied []edit.CopiedCue // to paste

	lanes   lanes // see laid
	through runThrough
	posing  *posing // going on, or nil
}

const (
	routineList = 22
	mostCues    = 9 // lines of the cue sheet beside the lanes of a small screen
)

func (v *routines) renew() {
	d := v.desk.design()
	lines := []sheetLine{{cells: []string{"routine", "length"}}}
	for i := range d.Routines {
		r := &d.Routines[i]
		length := model.FormatDuration(d.RoutineLength(r))
		if r.Loop {
			length += " ↻"
		}
		lines = append(lines, sheetLine{model.Elem{Sort: model.SortRoutine, Index: i}, []string{r.Name, length}})
	}
	v.list.put(lines)
	v.listCues()
}

// listCues lists the cues of the routine under the cursor, in order of time.
func (v *routines) listCues() {
	d := v.desk.design()
	at, ok := v.list.elem()
	if !ok {
		v.inCue = false
		v.cues.put(nil)
		return
	}
	r := &d.Routines[at.Index]
	if at.Index != v.of {
		v.cues.At = 0
		v.rest()
	}
	if at.Index != v.of || len(r.Cues) != v.among { // the indices may mean others now
		v.marked = nil
	}
	was, stay := v.cues.elem()
	stay = stay && at.Index == v.of
	v.of, v.among = at.Index, len(r.Cues)
	order := make([]int, len(r.Cues))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return int(r.Cues[a].At - r.Cues[b].At) })
	lines := []sheetLine{{cells: []string{"  at", "output", "what"}}}
	for _, i := range order {
		cue := model.Elem{Sort: model.SortCue, Index: at.Index, Part: i}
		cells := cueCells(d, cue)
		cells[0] = v.mark(i) + cells[0]
		lines = append(lines, sheetLine{cue, cells})
	}
	v.cues.put(lines)
	if stay { // a cue that has another time now is elsewhere in the list
		v.cues.arrive(was)
	}
	if len(r.Cues) == 0 {
		v.inCue = false
	}
}

// cueCells returns a cue as a line of the cue sheet.
func cueCells(d *model.Design, at model.Elem) []string {
	c := &d.Routines[at.Index].Cues[at.Part]
	who := c.Output
	if c.Track != "" {
		who = "♪ " + c.Track
	}
	var words []string
	for _, kv := range d.Keys(at) {
		switch kv.Key {
		case "at", "output", "track", "note":
		case "to", "speed", "effect", "colour":
			if kv.Value != "" {
				words = append(words, kv.Value)
			}
		case "fire":
			words = append(words, "fire")
		default:
			if kv.Value != "" {
				words = append(words, kv.Key+" "+kv.Value)
			}
		}
	}
	if t := d.Track(c.Track); t != nil {
		words = append(words, "for "+model.FormatDuration(t.Length))
	}
	return []string{model.FormatDuration(c.At), who, strings.Join(words, "  ")}
}

func (v *routines) draw(p pane.Pen, here bool) {
	t, d := v.theme, v.desk.design()
	left, right := p.Split(routineList, t.Box)
	v.list.draw(left, v.workspace, here && !v.inCue, 13)
	at, ok := v.list.elem()
	if !ok {
		right.Lines(1, 1, t.Plain, pane.Wrap("There is no routine yet. Ctrl-N makes one; its cues move servos, change lights and play sounds.", right.W-2))
		return
	}
	r := &d.Routines[at.Index]
	lanes := v.laid(r)
	below := func(style tcell.Style, lines []string) {
		right.Lines(1, right.H-len(lines), style, lines)
		right = right.Part(0, 0, right.W, right.H-len(lines))
	}
	keys := letters.Pack(cueKeys(), "  ", inColumns(right.W-2))
	var moment []string
	if v.through.shown {
		moment = v.moment(lanes, right.W-2)
	}
	// What is seen of the routine comes before what F1 and the palette tell, too.
	if right.H-len(keys)-len(moment) >= min(len(r.Cues)+1, mostCues)+len(lanes.lanes)+2 {
		below(t.Dim, keys)
	}
	below(t.Strong, moment)
	n := min(len(r.Cues)+1, max(mostCues, right.H-len(lanes.lanes)-2))
	v.cueY = 0
	v.cues.draw(right.Part(0, 0, right.W, n), v.workspace, here && v.inCue, 8, 14)
	if !v.inCue && len(r.Cues) == 0 {
		right.Text(1, 1, t.Plain, "no cue yet: Right adds the first")
	}
	var cue *model.Cue
	now := time.Duration(-1)
	if at, ok := v.cues.elem(); ok && v.inCue {
		cue = &r.Cues[at.Part]
		now = cue.At
	}
	if v.through.shown {
		now = v.through.at
		if r.Loop {
			now %= max(d.RoutineLength(r), scrub)
		}
	}
	lanes.draw(right.Part(0, n+1, right.W, right.H-n-1), v.theme, now, cue)
}

// sheetHere returns the list that the cursor is in.
func (v *routines) sheetHere() *sheet {
	if v.inCue {
		return &v.cues
	}
	return &v.list
}

func (v *routines) Move(dx, dy int) {
	switch {
	case dx > 0 && len(v.cues.lines) == 1:
		v.addCue()
		return
	case dx != 0:
		v.leaveTime()
		v.inCue = dx > 0
		return
	}
	v.sheetHere().Move(0, dy)
	v.moved()
}

func (v *routines) Page(dy int) { v.sheetHere().Page(dy); v.moved() }
func (v *routines) End(dx int)  { v.leaveTime(); v.inCue = dx > 0 && len(v.cues.lines) > 1 }
func (v *routines) Far(dy int)  { v.sheetHere().Far(dy); v.moved() }

// moved shows what is under the cursor now.
func (v *routines) moved() {
	v.leaveTime()
	v.listCues()
}

func (v *routines) place() model.Elem {
	return v.sheetHere().place()
}

func (v *routines) click(x, y int) bool {
	if x < routineList {
		v.inCue = false
		ok := v.list.click(x, y)
		v.moved()
		return ok
	}
	if v.cues.click(x, y-v.cueY) {
		v.leaveTime()
		v.inCue = true
		return true
	}
	return false
}

func (v *routines) arrive(at model.Elem) bool {
	switch at.Sort {
	case model.SortRoutine:
		v.inCue = false
		ok := v.list.arrive(at)
		v.listCues()
		return ok
	case model.SortCue:
		if !v.list.arrive(model.Elem{Sort: model.SortRoutine, Index: at.Index}) {
			return false
		}
		v.listCues()
		v.inCue = v.cues.arrive(at)
		return v.inCue
	}
	return false
}

func (v *routines) where() string {
	d := v.desk.design()
	at, ok := v.list.elem()
	if !ok {
		return ""
	}
	if v.inCue {
		if cue, ok := v.cues.elem(); ok {
			return d.Title(cue) + "; Enter changes it, Ctrl-N adds one, Left goes back"
		}
	}
	r := &d.Routines[at.Index]
	right := "Right goes to its cues"
	if len(r.Cues) == 0 {
		right = "Right adds its first cue"
	}
	var by []string
	for i := range d.States {
		if d.States[i].Plays == r.Name {
			by = append(by, d.States[i].Name)
		}
	}
	if by == nil {
		return "no state plays " + r.Name + " yet; " + right
	}
	return fmt.Sprintf("%s is played by %s; %s", r.Name, strings.Join(by, ", "), right)
}

// add adds a routine, or where the cursor is in the cues a cue.
func (v *routines) add() {
	if v.inCue {
		v.addCue()
	} else {
		v.addRoutine()
	}
}

// addRoutine asks for a routine's name. A performing state of that name that
// plays nothing yet plays it.
func (v *routines) addRoutine() {
	d, at := v.desk.design(), v.last(model.SortRoutine)
	v.askName(model.SortRoutine, "a new routine's name", "small letters, digits and -; a performing state of that name will play it", func(name string) error {
		return v.added(at, v.desk.draft.Together("add routine "+name, func() error {
			if _, err := v.desk.draft.Add(at, edit.Key{Key: "name", Value: name}); err != nil {
				return err
			}
			state, ok := d.Find(model.SortState, name)
			if !ok || d.States[state.Index].Kind != model.Performing || d.States[state.Index].Plays != "" {
				return nil
			}
			return v.desk.draft.Set(state, "plays", name)
		}))
	})
}

// draws writes a picture of the routine in time beside the design. A file of
// that name that is not such a picture is left alone.
func (v *routines) draws() {
	at, ok := v.list.elem()
	if !ok || v.desk.file == nil {
		v.say("there is no routine yet")
		return
	}
	d := v.desk.design()
	name := d.Routines[at.Index].Name
	file := strings.TrimSuffix(v.desk.file.Name(), designSuffix) + "." + name + ".svg"
	err := func() error {
		t, err := trace.OfRoutine(d, name)
		if err != nil {
			return err
		}
		text, err := t.SVG()
		if err != nil {
			return err
		}
		was, err := os.ReadFile(file)
		switch {
		case err == nil && !trace.Drawn(was):
			return fmt.Errorf("%s is there already and is not a picture of a routine; move it away", file)
		case err != nil && !errors.Is(err, fs.ErrNotExist):
			return err
		}
		return maybe.WriteFile(file, text, 0o666)
	}()
	if err != nil {
		v.say(err.Error())
		return
	}
	v.say(file + " shows " + name + " in time: open it in a browser, or print it")
}
