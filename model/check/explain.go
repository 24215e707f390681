package check

import "embed"

//go:embed explain/*.md
var explanations embed.FS

// Explain is what a rule means on a bench, with an example, how to mend it and
// where it comes from, in Markdown; false where there is no such rule. It
// knows the rules of gen/sketch too, which have to look at the firmware and
// are therefore not among Rules.
func Explain(id string) (markdown string, ok bool) {
	text, err := explanations.ReadFile("explain/" + id + ".md")
	return string(text), err == nil
}
