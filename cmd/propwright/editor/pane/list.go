package pane

// Scrolled is the first line to show so that the cursor's is among those
// shown.
func Scrolled(top, cursor, shown, all int) int {
	top = min(top, cursor)
	top = max(top, cursor-shown+1)
	return max(min(top, all-shown), 0)
}

// Settled is the line where a cursor at a line of n can stop: the next on the
// side of step, else the next on the other side, else where it is.
func Settled(at, step, n int, stops func(line int) bool) int {
	for _, step := range []int{step, -step} {
		for i := at; i >= 0 && i < n; i += step {
			if stops(i) {
				return i
			}
		}
	}
	return at
}
