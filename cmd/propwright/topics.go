package main

import (
	"embed"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"propwright/gen/letters"
	"propwright/gen/sketch"
	"propwright/model/check"
)

// topics are the texts of the manual, NAME.md, in Markdown as far as plain
// needs to know it. TestTopics does what they say: the commands in blocks of sh,
// one folder a topic; a block of toml is put at the end of blue-jay.prop.toml;
// one of text is what the command before it shows, or a file where one is named;
// one of cpp takes the place of the empty function in the file that it names.
//
//go:embed topics/*.md
var topics embed.FS

// rulesTopic is followed by the list of the rules.
const rulesTopic = "rules"

// addTopics makes every topic a command that only has help. A topic with the name of a
// command is that command's help.
func addTopics(root *cobra.Command) {
	files, err := fs.Glob(topics, "topics/*.md")
	if err != nil {
		panic(err) // the pattern is malformed
	}
	for _, file := range files {
		text, err := topics.ReadFile(file)
		if err != nil {
			panic(err) // a file that Glob found
		}
		name := strings.TrimSuffix(strings.TrimPrefix(file, "topics/"), ".md")
		title, body, _ := strings.Cut(plain(string(text)), "\n\n")
		if c, _, err := root.Find([]string{name}); err == nil && c != root {
			c.Short, c.Long = title, body
			continue
		}
		topic := &cobra.Command{Use: name, Short: title, Long: title + "\n\n" + body}
		if name == rulesTopic {
			topic.SetHelpFunc(func(cmd *cobra.Command, _ []string) { fmt.Fprint(cmd.OutOrStdout(), topic.Long, listOfRules()) })
		}
		root.AddCommand(topic)
	}
}

// plain returns a text for the terminal: a heading without its mark; code indented
// in place of its fences, below a line that says what it is; commands behind a $.
func plain(markdown string) string {
	var out strings.Builder
	code, mark := false, ""
	for line := range strings.Lines(markdown) {
		fence, opens := strings.CutPrefix(line, "```")
		switch {
		case opens && code:
			code = false
		case opens:
			code, mark = true, ""
			switch language, file, _ := strings.Cut(strings.TrimSpace(fence), " "); {
			case language == "sh":
				mark = "$ "
			case file != "":
				fmt.Fprintf(&out, "In %s:\n\n", file)
			case language == "toml":
				out.WriteString("In blue-jay.prop.toml:\n\n")
			default:
				out.WriteString("Among what that shows:\n\n")
			}
		case code && line != "\n":
			out.WriteString("    " + mark + line)
			if mark != "" {
				mark = "$ "
				if strings.HasSuffix(line, "\\\n") {
					mark = "  " // the command goes on
				}
			}
		case code:
			out.WriteString(line)
		default:
			out.WriteString(strings.TrimPrefix(line, "# "))
		}
	}
	return out.String()
}

// listOfRules returns each rule with its severity and the first paragraph of its
// explanation.
func listOfRules() string {
	var out strings.Builder
	for _, r := range sketch.Rules() {
		text, _ := check.Explain(r.ID)
		fmt.Fprintf(&out, "\n%s (%s)\n", r.ID, r.Severity)
		for _, line := range letters.Wrap(strings.Split(text, "\n\n")[1], func(line string) bool { return len(line) <= 74 }) {
			fmt.Fprintf(&out, "    %s\n", line)
		}
	}
	return out.String()
}

// helpCommand shows the help of a command or a topic. Unlike cobra's own it does not
// show the general help for a mistyped word.
func helpCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND or TOPIC]",
		Short: "Explain a command or a topic",
		ValidArgsFunction: func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			var names []string
			if above, rest, err := cmd.Root().Find(args); err == nil && len(rest) == 0 {
				for _, c := range above.Commands() {
					names = append(names, cobra.CompletionWithDesc(c.Name(), c.Short))
				}
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			about, rest, err := cmd.Root().Find(args)
			if err != nil {
				return err
			}
			if len(rest) > 0 {
				return fmt.Errorf("there is no command and no topic %q; %s", rest[0], meant(cmd.Root(), rest[0]))
			}
			about.InitDefaultHelpFlag() // or its help would not list them
			about.InitDefaultVersionFlag()
			return about.Help()
		},
	}
}
