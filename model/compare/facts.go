package compare

import (
	"fmt"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// Facts writes what a prop is and does, one fact a line, sorted by area and
// name, whatever the order of the file: two designs that Compare finds no
// difference in have the same facts.
func Facts(d *model.Design) []string {
	p := machine.Compile(d)
	byArea := map[Area][]string{}
	say := func(a Area, format string, args ...any) {
		byArea[a] = append(byArea[a], oneLine(fmt.Sprintf("%s: %s", a, fmt.Sprintf(format, args...))))
	}
	say(AreaState, "power-up enters %s", p.Name(p.Start))
	for s := range d.States {
		x := effectsOf(p, machine.StateID(s))
		for _, e := range x.events {
			say(AreaBehaviour, "in %s, %s → %s", d.States[s].Name, e, x.of[e])
		}
		for t, first := range ties(p, machine.StateID(s)) { // sorted below
			say(AreaBehaviour, "in %s, %s: %s comes first", d.States[s].Name, t, first)
		}
	}
	for _, sort := range sorts {
		for i := range d.Len(sort, 0) {
			e := sort.At(0, i)
			for _, kv := range values(d, e) {
				if kv.Value == "" || kv.Key == "name" && sort != model.SortProp || kv.Key == "start" {
					continue // a name is the fact's own, and start is said once
				}
				say(areaOfKey(sort, kv.Key), "%s, %s %s", d.Title(e), kv.Key, kv.Value)
			}
			for _, part := range parts(d, e) {
				say(areaOf[sort], "%s, %s: %s", d.Title(e), partName(part), part.text)
			}
		}
	}
	for _, r := range requirements(d) {
		say(AreaRequirement, "%s", r)
	}
	var all []string
	for _, a := range Areas {
		slices.Sort(byArea[a])
		all = append(all, byArea[a]...)
	}
	return all
}
