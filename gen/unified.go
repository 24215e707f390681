package gen

import (
	"bytes"
	"fmt"
	"strings"
)

// context is how many lines stand around a change.
const context = 3

// unified writes the difference of two texts line by line, in the unified
// form that patch reads (POSIX, utility diff, option -u), "" where there is
// none.
func unified(oldName, newName string, old, now []byte) string {
	a, b := lines(old), lines(now)
	edits := script(a, b)
	var out strings.Builder
	for i := 0; i < len(edits); {
		if edits[i].kind == keeps {
			i++
			continue
		}
		// A hunk: this change and all that follow within reach of it.
		from := max(0, i-context)
		to, calm := i, 0
		for j := i; j < len(edits) && calm <= 2*context; j++ {
			if calm++; edits[j].kind != keeps {
				to, calm = j+1, 0
			}
		}
		to = min(len(edits), to+context)
		if out.Len() == 0 {
			fmt.Fprintf(&out, "--- %s\n+++ %s\n", oldName, newName)
		}
		hunk(&out, edits[from:to])
		i = to
	}
	return out.String()
}

func hunk(out *strings.Builder, edits []edit) {
	var oldLines, newLines int
	for _, e := range edits {
		if e.kind != adds {
			oldLines++
		}
		if e.kind != drops {
			newLines++
		}
	}
	start := func(at, n int) int {
		if n == 0 {
			return at // the line before an empty range
		}
		return at + 1
	}
	fmt.Fprintf(out, "@@ -%d,%d +%d,%d @@\n", start(edits[0].old, oldLines), oldLines, start(edits[0].now, newLines), newLines)
	for _, e := range edits {
		fmt.Fprintf(out, "%c%s\n", e.kind, e.line)
	}
}

func lines(text []byte) []string {
	s := string(bytes.ReplaceAll(text, []byte("\r"), nil))
	if s == "" {
		return nil
	}
	return strings.Split(strings.TrimSuffix(s, "\n"), "\n")
}

type editKind byte

const (
	keeps editKind = ' '
	drops editKind = '-'
	adds  editKind = '+'
)

type edit struct {
	kind     editKind
	old, now int // lines before it
	line     string
}

// script finds a shortest way from a to b (E. Myers, "An O(ND) difference
// algorithm and its variations", Algorithmica 1, 1986). Texts that differ in
// more than mostEdits lines are replaced as a whole.
func script(a, b []string) []edit {
	n, m := len(a), len(b)
	reach := map[int]int{1: 0}
	var trace []map[int]int
	for d := 0; d <= min(n+m, mostEdits); d++ {
		before := make(map[int]int, len(reach))
		for k, x := range reach {
			before[k] = x
		}
		trace = append(trace, before)
		for k := -d; k <= d; k += 2 {
			x := reach[k-1] + 1
			if k == -d || k != d && reach[k-1] < reach[k+1] {
				x = reach[k+1]
			}
			for x < n && x-k < m && a[x] == b[x-k] {
				x++
			}
			reach[k] = x
			if x >= n && x-k >= m {
				return backtrack(a, b, trace)
			}
		}
	}
	var edits []edit
	for i, l := range a {
		edits = append(edits, edit{drops, i, 0, l})
	}
	for i, l := range b {
		edits = append(edits, edit{adds, n, i, l})
	}
	return edits
}

const mostEdits = 1000

func backtrack(a, b []string, trace []map[int]int) []edit {
	var edits []edit
	x, y := len(a), len(b)
	for d := len(trace) - 1; x > 0 || y > 0; d-- {
		reach, k := trace[d], x-y
		before := k - 1
		if k == -d || k != d && reach[k-1] < reach[k+1] {
			before = k + 1
		}
		px := reach[before]
		py := px - before
		for x > px && y > py {
			x, y = x-1, y-1
			edits = append(edits, edit{keeps, x, y, a[x]})
		}
		if d == 0 {
			break
		}
		if x == px {
			y--
			edits = append(edits, edit{adds, x, y, b[y]})
		} else {
			x--
			edits = append(edits, edit{drops, x, y, a[x]})
		}
	}
	for l, r := 0, len(edits)-1; l < r; l, r = l+1, r-1 {
		edits[l], edits[r] = edits[r], edits[l]
	}
	return edits
}
