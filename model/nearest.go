package model

import "strings"

// Nearest returns the one of among that word is most likely a slip of, or ""
// where none is near: at most one edit for words of up to four bytes, at
// most two for longer ones; small and capital letters count as the same. An
// edit inserts, leaves out or replaces a byte or swaps two neighbours (F.
// Damerau, "A technique for computer detection and correction of spelling
// errors", Communications of the ACM 7(3), 1964). Of several at the same
// distance it is the first.
func Nearest(word string, among []string) string {
	limit := 2
	if len(word) <= 4 {
		limit = 1
	}
	best := ""
	folded := strings.ToLower(word)
	for _, w := range among {
		if n := len(w) - len(folded); n > limit || -n > limit || w == word {
			continue
		}
		if d := edits(folded, strings.ToLower(w)); d <= limit {
			best, limit = w, d-1
			if limit < 0 {
				break
			}
		}
	}
	return best
}

// edits counts the edits between a and b, no byte being edited twice.
func edits(a, b string) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		before, last, row = last, row, before
		row[0] = i
		for j := 1; j <= len(b); j++ {
			replace := last[j-1]
			if a[i-1] != b[j-1] {
				replace++
			}
			row[j] = min(replace, last[j]+1, row[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
	}
	return row[len(b)]
}
