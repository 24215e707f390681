package compare

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"propwright/model"
)

var areaOf = map[model.Sort]Area{
	model.SortProp: AreaProp, model.SortSupply: AreaProp, model.SortRemote: AreaRemote, model.SortButton: AreaRemote,
	model.SortInput: AreaInput, model.SortEvent: AreaInput, model.SortOutput: AreaOutput, model.SortMessage: AreaOutput, model.SortTrack: AreaTrack,
	model.SortRoutine: AreaRoutine, model.SortCue: AreaRoutine,
	model.SortState: AreaState, model.SortPose: AreaState, model.SortDrift: AreaState,
}

// sorts are those that are compared by their keys, without parts, in the order of
// their areas. Transitions are compared by what they do, requirements by their text.
var sorts = func() []model.Sort {
	all := slices.DeleteFunc(model.Sorts(), func(s model.Sort) bool { return areaOf[s] == "" || s.Parent() != "" })
	slices.SortStableFunc(all, func(a, b model.Sort) int { return areaOf[a].order() - areaOf[b].order() })
	return all
}()

// rename gives old the names of now where an element differs in nothing but
// its name, and no other element is like it.
func rename(old, now *model.Design) (*model.Design, []Change) {
	d := old
	var changes []Change
	for _, sort := range model.Sorts() { // those first that are named by others
		if !sort.Named() || sort.Parent() != "" {
			continue
		}
		added := only(now, d, sort)
		to := map[string]string{}
		for what, from := range only(d, now, sort) {
			to[from] = added[what]
		}
		for _, from := range old.Names(sort) { // in the file's order: maps have none
			if to[from] == "" {
				continue
			}
			at, _ := d.Find(sort, from)
			renamed, err := d.Renamed(at, to[from])
			if err != nil {
				continue
			}
			d = renamed
			changes = append(changes, Change{
				Area: areaOf[sort], Kind: Renamed, Name: sort.Noun() + " " + from, Was: from, Is: to[from],
			})
		}
	}
	return d, changes
}

// only gives the elements of a that b has no name for, by what they are;
// where two are alike the name is "".
func only(a, b *model.Design, sort model.Sort) map[string]string {
	out := map[string]string{}
	for i := range a.Len(sort, 0) {
		e := sort.At(0, i)
		if _, both := b.Find(sort, a.Name(e)); both {
			continue
		}
		what := signature(a, e)
		if _, twice := out[what]; twice {
			out[what] = ""
		} else {
			out[what] = a.Name(e)
		}
	}
	return out
}

// signature is all that an element is but for its name and its words.
func signature(d *model.Design, e model.Elem) string {
	var b strings.Builder
	for _, kv := range values(d, e) {
		if kv.Key != "name" && !isWord(kv.Key) {
			fmt.Fprintf(&b, "%s=%s;", kv.Key, kv.Value)
		}
	}
	for _, part := range parts(d, e) {
		fmt.Fprintf(&b, "%s{%s}", part.sort, part.text)
	}
	return b.String()
}

// isWord reports whether a key is for people only.
func isWord(key string) bool { return key == "label" || key == "note" }

// areaOfKey is the area of an element's key.
func areaOfKey(sort model.Sort, key string) Area {
	if isWord(key) {
		return AreaWords
	}
	return areaOf[sort]
}

// values gives an element's keys with the values that hold, stated or not; a
// state's poses and drifts are its parts.
func values(d *model.Design, e model.Elem) []model.KeyValue {
	var kvs []model.KeyValue
	for _, kv := range d.Keys(e) {
		if e.Sort == model.SortState && (kv.Key == "pose" || kv.Key == "drift") {
			continue // they are parts
		}
		kv.Value = cmp.Or(kv.Value, kv.Default)
		kvs = append(kvs, kv)
	}
	return kvs
}
