package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
)

// explain explains a word: a rule, an element, or a key of a design file, alone or
// after its element and a dot.
func explain(w io.Writer, word string) error {
	if text, ok := check.Explain(word); ok {
		_, err := io.WriteString(w, text)
		return err
	}
	elements, keys := keysNamed(word)
	if len(elements)+len(keys) == 0 {
		return unexplained(word)
	}
	var out strings.Builder
	if len(elements) > 0 {
		fmt.Fprintf(&out, "The keys of %s:\n\n", word)
		table := tabwriter.NewWriter(&out, 0, 0, 2, ' ', 0)
		for _, k := range elements {
			fmt.Fprintf(table, "  %s\t%s\t%s%s\n", k.In(), k.Key, k.Meaning, map[bool]string{true: "; needed"}[k.Need])
		}
		table.Flush()
		fmt.Fprintf(&out, "\n%s.%s says more of one, for example.\n", word, elements[0].Key)
	}
	for i, k := range keys {
		if i > 0 || len(elements) > 0 {
			out.WriteByte('\n')
		}
		explainKey(&out, k)
	}
	_, err := io.WriteString(w, out.String())
	return err
}

func explainKey(w io.Writer, k model.KeyDoc) {
	needed := "yes"
	if !k.Need {
		needed = "no; without it "
		if k.Default == "" {
			needed += "nothing is said"
		} else {
			needed += k.Default
		}
	}
	fmt.Fprintf(w, "%s of %s: %s\n", k.Key, k.In(), k.Meaning)
	fmt.Fprintf(w, "  holds    %s\n", k.Holds)
	for _, form := range k.Forms {
		fmt.Fprintf(w, "           - %s\n", form)
	}
	fmt.Fprintf(w, "  example  %s = %s\n", k.Key, k.Example)
	fmt.Fprintf(w, "  needed   %s\n", needed)
}

// keysNamed finds the keys of the elements that a word names, and the keys
// that it names itself.
func keysNamed(word string) (elements, keys []model.KeyDoc) {
	for _, k := range model.Schema() {
		owners := k.Owners()
		if slices.Contains(owners, word) {
			elements = append(elements, k)
		}
		if k.Key == word || slices.ContainsFunc(owners, func(o string) bool { return o+"."+k.Key == word }) {
			keys = append(keys, k)
		}
	}
	return elements, keys
}

// explained lists the words that explain knows: rules, elements, and all words of the
// schema, that is elements, keys, and keys of elements.
func explained() (rules, elements, words []string) {
	for _, r := range sketch.Rules() {
		rules = append(rules, r.ID)
	}
	for _, k := range model.Schema() {
		words = append(words, k.Key)
		for _, o := range k.Owners() {
			elements = append(elements, o)
			words = append(words, o, o+"."+k.Key)
		}
	}
	slices.Sort(elements)
	slices.Sort(words)
	return rules, slices.Compact(elements), slices.Compact(words)
}

// unexplained returns the error for an unknown word, with the nearest known ones.
func unexplained(word string) error {
	rules, elements, words := explained()
	var near []string
	if n := model.Nearest(word, rules); n != "" {
		near = append(near, fmt.Sprintf("%q, a rule", n))
	}
	if n := model.Nearest(word, words); n != "" {
		near = append(near, fmt.Sprintf("%q, a key or an element", n))
	}
	advice := "write " + strings.Join(near, ", or ")
	if near == nil {
		advice = "the rules are:\n  " + strings.Join(rules, "\n  ") +
			"\nthe elements, each with its keys, are:\n  " + strings.Join(elements, "\n  ")
	}
	return fmt.Errorf("there is no rule, key or element %q; %s", word, advice)
}
