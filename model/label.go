package model

import "strings"

// LabelOf makes a name for people of a name: "Harbour Heron" of
// "harbour-heron".
func LabelOf(name string) string {
	words := strings.FieldsFunc(name, func(r rune) bool { return r == '-' })
	for i, w := range words {
		words[i] = strings.ToUpper(w[:1]) + w[1:]
	}
	return strings.Join(words, " ")
}
