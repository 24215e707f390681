package compare

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"propwright/model"
	"propwright/model/motion"
)

// A part is an element of an element, in words.
type part struct {
	sort model.Sort
	key  string // what tells parts of one element apart: an output's or a message's name, or all of a cue
	text string
	at   int64 // of a cue, for the order
}

// parts are an element's parts, in an order that the file's does not matter to.
func parts(d *model.Design, e model.Elem) []part {
	var turn map[int]string
	if e.Sort == model.SortRoutine {
		turn = turns(d, &d.Routines[e.Index])
	}
	var ps []part
	for _, at := range d.Parts(e) {
		p := part{sort: at.Sort, key: d.Name(at)}
		var words []string
		for _, kv := range values(d, at) {
			if isWord(kv.Key) || kv.Value == "" || at.Sort == model.SortCue && kv.Value == "false" {
				continue
			}
			words = append(words, kv.Key+" "+kv.Value)
		}
		p.text = strings.Join(words, ", ")
		switch at.Sort {
		case model.SortCue:
			if turn[at.Part] != "" {
				p.text += ", " + turn[at.Part]
			}
			p.key, p.at = p.text, int64(d.Routines[e.Index].Cues[at.Part].At)
		case model.SortPose:
			p.text = poseText(d, at)
		}
		ps = append(ps, p)
	}
	slices.SortStableFunc(ps, func(a, b part) int {
		return cmp.Or(cmp.Compare(a.sort, b.sort), cmp.Compare(a.at, b.at), cmp.Compare(a.key, b.key))
	})
	return ps
}

// poseText writes a pose alike whether the file has a bare value or a table.
func poseText(d *model.Design, at model.Elem) string {
	p := &d.States[at.Index].Pose[at.Part]
	a := p.Action
	o := d.Output(p.Output)
	if o == nil {
		return p.Output
	}
	if motion.FormOf(o) != motion.InLights {
		return d.Value(at, o.Kind.PoseKey())
	}
	if a.Effect == model.EffectSolid || a.Effect == "" {
		return a.Colour.String() + stretch(a)
	}
	text := fmt.Sprintf("%s %s and %s", a.Effect, a.Colour, a.Colour2)
	if a.Period > 0 {
		text += " per " + model.FormatDuration(a.Period)
	}
	return text + stretch(a)
}

// stretch says which pixels, where not all.
func stretch(a model.Action) string {
	if a.First == 0 && a.Last < 0 {
		return ""
	}
	last := "the end"
	if a.Last >= 0 {
		last = fmt.Sprint(a.Last)
	}
	return fmt.Sprintf(" from %d to %s", a.First, last)
}

// elements compares everything but transitions.
func (c *Comparison) elements() {
	for _, sort := range sorts {
		for i := range c.New.Written.Len(sort, 0) {
			now := sort.At(0, i)
			old, both := c.Old.Written.Find(sort, c.New.Written.Name(now))
			if sort.Single() {
				old, both = now, true
			}
			if both {
				c.element(old, now)
				continue
			}
			c.add(Change{Area: areaOf[sort], Kind: New, Name: c.New.Written.Title(now), Is: c.what(c.New.Written, now), More: c.more(now)})
		}
		for i := range c.Old.Written.Len(sort, 0) {
			old := sort.At(0, i)
			if _, both := c.New.Written.Find(sort, c.Old.Written.Name(old)); !both && !sort.Single() {
				c.add(Change{Area: areaOf[sort], Kind: Gone, Name: c.Old.Written.Title(old), Was: c.what(c.Old.Written, old)})
			}
		}
	}
	if was, is := c.Old.Program.Name(c.Old.Program.Start), c.New.Program.Name(c.New.Program.Start); was != is {
		c.add(Change{Area: AreaState, Kind: Changed, Name: "the state that power-up enters", Was: was, Is: is})
	}
	c.requirements()
}

// what says in a few words what an element is.
func (c *Comparison) what(d *model.Design, e model.Elem) string {
	var words []string
	for _, kv := range values(d, e) {
		switch kv.Key {
		case "name", "start":
		case "kind", "code", "plays", "pin", "length", "file", "pull":
			if kv.Value != "" && kv.Value != "0s" {
				words = append(words, kv.Key+" "+kv.Value)
			}
		}
	}
	if e.Sort == model.SortRoutine && len(d.Routines[e.Index].Cues) > 0 {
		r := &d.Routines[e.Index]
		words = append(words, counted(len(r.Cues), "cue"), "takes "+model.FormatDuration(d.RoutineLength(r)))
	}
	return strings.Join(words, ", ")
}

func counted(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}

// element compares an element that both designs have.
func (c *Comparison) element(old, now model.Elem) {
	area := areaOf[now.Sort]
	title := c.New.Written.Title(now)
	was, before := map[string]string{}, values(c.Old.Written, old)
	for _, kv := range before {
		was[kv.Key] = kv.Value
	}
	keys := values(c.New.Written, now)
	for _, kv := range keys {
		w, ok := was[kv.Key]
		delete(was, kv.Key)
		if ok && w == kv.Value || !ok && kv.Value == "" || kv.Key == "start" {
			continue // start: said once for all states
		}
		c.add(Change{Area: areaOfKey(now.Sort, kv.Key), Kind: Changed, Name: kv.Key + " of " + title, Was: w, Is: kv.Value})
	}
	for _, kv := range before { // keys that another kind of output has not
		if w, left := was[kv.Key]; left && w != "" {
			c.add(Change{Area: area, Kind: Gone, Name: kv.Key + " of " + title, Was: w})
		}
	}
	c.parts(area, title, parts(c.Old.Written, old), parts(c.New.Written, now))
	if now.Sort == model.SortRoutine {
		w := c.Old.Written.RoutineLength(&c.Old.Written.Routines[old.Index])
		is := c.New.Written.RoutineLength(&c.New.Written.Routines[now.Index])
		if w != is {
			c.add(Change{Area: AreaTiming, Kind: Changed, Name: "what " + title + " takes", Was: model.FormatDuration(w), Is: model.FormatDuration(is)})
		}
	}
}

// parts compares the parts of an element that both designs have.
func (c *Comparison) parts(area Area, title string, old, now []part) {
	left := slices.Clone(old)
	var added []part
	for _, p := range now {
		i := slices.IndexFunc(left, func(x part) bool { return x.sort == p.sort && x.key == p.key })
		if i < 0 {
			added = append(added, p)
			continue
		}
		if w := left[i].text; w != p.text {
			c.add(Change{Area: area, Kind: Changed, Name: partName(p) + " in " + title, Was: w, Is: p.text})
		}
		left = slices.Delete(left, i, i+1)
	}
	for _, p := range added {
		c.add(Change{Area: area, Kind: New, Name: partName(p) + " in " + title, Is: p.text})
	}
	for _, p := range left {
		c.add(Change{Area: area, Kind: Gone, Name: partName(p) + " in " + title, Was: p.text})
	}
}

func partName(p part) string {
	if p.sort == model.SortCue {
		return "cue"
	}
	return p.sort.Noun() + " " + p.key
}

// requirements are those of a design, their blanks put right.
func requirements(d *model.Design) (all []string) {
	for i := range d.Requires {
		all = append(all, strings.Join(strings.Fields(d.Requires[i].That), " "))
	}
	return all
}

func (c *Comparison) requirements() {
	was, is := requirements(c.Old.Written), requirements(c.New.Written)
	for _, r := range is {
		if !slices.Contains(was, r) {
			c.add(Change{Area: AreaRequirement, Kind: New, Name: "requirement", Is: r})
		}
	}
	for _, r := range was {
		if !slices.Contains(is, r) {
			c.add(Change{Area: AreaRequirement, Kind: Gone, Name: "requirement", Was: r})
		}
	}
}
