package pane

import (
	"cmp"
	"slices"
	"strings"
)

// Matches lists those of all that hold the letters of typed in their order,
// the nearest first. Everything matches an empty text, in its own order.
func Matches(typed string, all []string) []string {
	index, _ := MatchIndex(typed, len(all), func(i int) (text, also string) { return all[i], "" })
	out := make([]string, len(index))
	for i, n := range index {
		out[i] = all[n]
	}
	return out
}

// MatchIndex is Matches for n texts by their index; each is also found by other
// words, in one piece. The first so many of them hold the letters in one piece.
func MatchIndex(typed string, n int, texts func(int) (text, also string)) (index []int, whole int) {
	typed = strings.ToLower(strings.TrimSpace(typed))
	type hit struct{ index, far int }
	var hits []hit
	for i := range n {
		text, also := texts(i)
		far, ok := distance(typed, strings.ToLower(text))
		if f, found := distance(typed, strings.ToLower(also)); found && f < inPieces && (!ok || f < far) {
			far, ok = f, true
		}
		if ok {
			hits = append(hits, hit{i, far})
			if far < inPieces {
				whole++
			}
		}
	}
	slices.SortStableFunc(hits, func(a, b hit) int { return cmp.Compare(a.far, b.far) })
	for _, h := range hits {
		index = append(index, h.index)
	}
	return index, whole
}

// inPieces is the least distance of a text that holds the letters with others
// between them.
const inPieces = 6

// distance returns how far a text is from what was typed: nothing for the same,
// little where it is a word of the text, the first one least, then where the text
// begins with it, then where a word does, then where it is anywhere, then by the
// gaps between its letters.
func distance(typed, text string) (far int, ok bool) {
	between := func(r rune) bool { return strings.ContainsRune(" -:,;", r) }
	at := strings.Index(text, typed)
	word := slices.Index(strings.FieldsFunc(text, between), typed)
	switch {
	case typed == text:
		return 0, true
	case word == 0:
		return 1, true
	case word > 0:
		return 2, true
	case at == 0:
		return 3, true
	case at > 0 && between(rune(text[at-1])):
		return 4, true
	case at > 0:
		return 5, true
	}
	far, at = inPieces, 0
	for _, r := range typed {
		next := strings.IndexRune(text[at:], r)
		if next < 0 {
			return 0, false
		}
		far += next
		at += next + len(string(r))
	}
	return far, true
}
