package motion

import "math"

// Range is what a value can be: Lo..Hi where chance has a part in it, and
// one value, Lo == Hi, where it has none.
type Range struct{ Lo, Hi float64 }

func exactly(v float64) Range { return Range{v, v} }

// Exact reports whether the range is one value.
func (r Range) Exact() bool { return r.Lo == r.Hi }

// Holds reports whether v is in the range or at most slack off it.
func (r Range) Holds(v, slack float64) bool { return v >= r.Lo-slack && v <= r.Hi+slack }

// hull is the least range that holds both.
func (r Range) hull(o Range) Range {
	return Range{min(r.Lo, o.Lo), max(r.Hi, o.Hi)}
}

// mix is the range of what lies the share k on the way from r to o.
func (r Range) mix(o Range, k float64) Range {
	return Range{lerp(r.Lo, o.Lo, k), lerp(r.Hi, o.Hi, k)}
}

// along maps the range by the straight line through (x0, y0) and (x1, y1); a
// line without a slope to go by is y0 throughout.
func (r Range) along(x0, y0, x1, y1 float64) Range {
	if x0 == x1 {
		return exactly(y0)
	}
	a := lerp(y0, y1, (r.Lo-x0)/(x1-x0))
	b := lerp(y0, y1, (r.Hi-x0)/(x1-x0))
	return Range{math.Min(a, b), math.Max(a, b)}
}

func lerp(a, b, k float64) float64 { return a + (b-a)*k }
