package check

import "embed"

//go:embed explain/*.md
var explanations embed.FS

// Explain returns a rule's page in Markdown: what it means at the workbench, an
// example, how to mend it, and its source. It reports false for an unknown rule. It
// knows the rules of gen/sketch too, which look at the firmware and are therefore not
// among Rules.
func Explain(id string) (markdown string, ok bool) {
	text, err := explanations.ReadFile("explain/" + id + ".md")
	return string(text), err == nil
}
