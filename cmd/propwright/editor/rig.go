package editor

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/edit"
)

const inRig scope = "rig"

// rig shows the outputs, the inputs, the sounds, the supply, and the chip's
// pins with who takes them.
type rig struct {
	*workspace
	sheet
	list     int       // columns of the list, as it was drawn last
	chipTop  int       // the first line of pins on the screen
	trimming *trimming // going on, or nil
}

func (v *rig) renew() {
	d := v.desk.design()
	lines := []sheetLine{{cells: []string{"output", "pin", "kind"}}}
	for i := range d.Outputs {
		o := &d.Outputs[i]
		lines = append(lines, sheetLine{model.Elem{Sort: model.SortOutput, Index: i}, []string{o.Name, pinsText(o), o.Gist()}})
	}
	lines = append(lines, sheetLine{cells: []string{"input", "pin", "active"}})
	for i := range d.Inputs {
		in := &d.Inputs[i]
		active := "low"
		if in.Pull == model.PullNone {
			active = "high"
		}
		lines = append(lines, sheetLine{model.Elem{Sort: model.SortInput, Index: i}, []string{in.Name, strconv.Itoa(in.Pin), active}})
	}
	for i := range d.Events {
		lines = append(lines, sheetLine{model.Elem{Sort: model.SortEvent, Index: i}, []string{d.Events[i].Name, "", "posted by your code"}})
	}
	lines = append(lines, sheetLine{cells: []string{"sound", "", "length, on"}})
	for i := range d.Tracks {
		t := &d.Tracks[i]
		lines = append(lines, sheetLine{model.Elem{Sort: model.SortTrack, Index: i}, []string{t.Name, "♪", strings.TrimSpace(model.FormatDuration(t.Length) + " " + t.Play.Output + " " + playText(t.Play))}})
	}
	lines = append(lines, sheetLine{cells: []string{"besides"}},
		sheetLine{model.Elem{Sort: model.SortRemote}, []string{"receiver", strconv.Itoa(d.Remote.Pin), "infrared"}},
		sheetLine{model.Elem{Sort: model.SortSupply}, []string{"supply", "", supplyText(&d.Supply)}},
		sheetLine{model.Elem{Sort: model.SortProp}, []string{"prop", "", d.Prop.Board}})
	v.put(lines)
}

// pinsText returns the pins that an output is told what to do on; behind a colon its
// expander's channel.
func pinsText(o *model.Output) string {
	if o.Bus != 0 {
		return ":" + strconv.Itoa(o.Channel)
	}
	if len(o.Pins) > 0 {
		return strings.Trim(strings.ReplaceAll(fmt.Sprint(o.Pins), " ", ","), "[]")
	}
	return strconv.Itoa(o.Pin)
}

// playText returns what an output plays a track by.
func playText(p model.Play) string {
	if p.Track > 0 {
		return strconv.Itoa(p.Track)
	}
	return p.Value
}

func supplyText(s *model.Supply) string {
	var said []string
	if s.Volts > 0 {
		said = append(said, fmt.Sprintf("%v V", s.Volts))
	}
	if s.MaxMA > 0 {
		said = append(said, fmt.Sprintf("%d mA", s.MaxMA))
	}
	return cmp.Or(strings.Join(said, " "), "not said")
}

const rigList = 36 // columns of the list on a screen of 80; half of what there is more is its own

func (v *rig) draw(p pane.Pen, here bool) {
	more := max(p.W-80, 0) / 2
	v.list = rigList + more
	list, chip := p.Split(v.list, v.theme.Box)
	v.sheet.draw(list, v.workspace, here, 14+more/2, 3)
	v.drawChip(chip)
}

func (v *rig) click(x, y int) bool { return x < v.list && v.sheet.click(x, y) }

func (v *rig) where() string {
	at, ok := v.elem()
	if !ok {
		return ""
	}
	d := v.desk.design()
	s := d.Title(at)
	if at.Sort == model.SortOutput && d.Outputs[at.Index].Bus != 0 {
		s += " on " + d.Outputs[at.Index].Terminal()
	}
	if note := d.Value(at, "note"); note != "" {
		s += ": " + pane.OneLine(note)
	}
	return s + "; Ctrl-N adds an output, an input or a sound"
}

// addToRig asks what is new in the rig.
func (v *rig) addToRig() {
	d := v.desk.design()
	c := &pane.Dialog{Title: "what is new in the rig?", Hint: "a few letters find it"}
	for _, kind := range model.OutputKinds {
		first := model.FirstOutput(kind)
		c.Offer(string(kind), kind.Purpose(), func() error {
			v.askAdd(model.SortOutput, "a new "+string(kind)+"'s name", func(name string) []edit.Key {
				return []edit.Key{{Key: "name", Value: name}, {Key: "kind", Value: string(kind)}, {Key: "pin", Value: firstPin(d, first.Use())}}
			})
			return nil
		})
	}
	c.Offer("input", "a switch or a sensor", func() error {
		v.askAdd(model.SortInput, "a new input's name", func(name string) []edit.Key {
			return []edit.Key{{Key: "name", Value: name}, {Key: "pin", Value: firstPin(d, board.UseInput)}}
		})
		return nil
	})
	c.Offer("event", "your own code posts it", func() error {
		v.askAdd(model.SortEvent, "a new event's name", func(name string) []edit.Key {
			return []edit.Key{{Key: "name", Value: name}}
		})
		return nil
	})
	for i := range d.Outputs {
		o := &d.Outputs[i]
		play, ok := d.FreePlay(o)
		if !ok {
			continue
		}
		c.Offer("sound on "+o.Name, "a track", func() error {
			v.askAdd(model.SortTrack, "a new sound's name", func(name string) []edit.Key {
				return []edit.Key{{Key: "name", Value: name}, {Key: "length", Value: "1s"}, {Key: "play", Value: play.String()}}
			})
			return nil
		})
	}
	v.over.Choose(c, "")
}
