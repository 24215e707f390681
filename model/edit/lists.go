package edit

import "slices"

// edited gives a list in which change has changed some elements, and whether
// it has; the list itself stays as it is. change is given a copy and reports
// whether it changed that; slices inside it must not be written to.
func edited[T any](all []T, change func(*T) bool) ([]T, bool) {
	var out []T
	for i := range all {
		x := all[i]
		if !change(&x) {
			continue
		}
		if out == nil {
			out = slices.Clone(all)
		}
		out[i] = x
	}
	if out == nil {
		return all, false
	}
	return out, true
}

// kept gives the elements that keep accepts; the list itself stays as it is.
func kept[T any](all []T, keep func(*T) bool) []T {
	var out []T
	for i := range all {
		if keep(&all[i]) {
			out = append(out, all[i])
		}
	}
	return out
}

// inserted gives a list with x at an index.
func inserted[T any](all []T, i int, x T) []T {
	return slices.Insert(slices.Clone(all), i, x)
}
