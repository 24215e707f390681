package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"propwright/cmd/propwright/editor"
	"propwright/model"
)

func editCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "edit [FILE]",
		Short: "Shape and rehearse a design on the terminal",
		Long: `Open a design file in the terminal editor: the state–event matrix, the remote,
the rig, the routines, the behaviour graph, the findings and the rehearsal. Without
a file, or with one that is not there yet, a new design is made step by step.
F1 shows what every key does.`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeDesign,
		RunE:              runEditor,
	}
}

// editByDefault makes the root command open the editor. A word that is
// neither a command nor a design file is most likely a mistake.
func editByDefault(root *cobra.Command) {
	root.Use = "propwright [FILE]"
	root.ValidArgsFunction = completeDesign
	root.Args = func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return nil
		}
		if _, err := os.Stat(args[0]); len(args) > 1 || err != nil && !strings.HasSuffix(args[0], designSuffix) {
			return unknownWord(cmd, args[0])
		}
		return nil
	}
	root.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 && !onTerminal(cmd) {
			return cmd.Help()
		}
		return runEditor(cmd, args)
	}
}

func unknownWord(cmd *cobra.Command, word string) error {
	return fmt.Errorf("unknown command %q, and no design file of that name; %s", word, meant(cmd, word))
}

// meant returns the advice for a word that is not the name of a command or a topic.
func meant(root *cobra.Command, word string) string {
	var all []string
	for _, c := range root.Commands() {
		all = append(all, c.Name())
	}
	if near := model.Nearest(word, all); near != "" {
		return fmt.Sprintf("did you mean `propwright %s`?", near)
	}
	return "`propwright --help` lists the commands and topics"
}

func runEditor(cmd *cobra.Command, args []string) error {
	if !onTerminal(cmd) {
		return errors.New("the editor needs a terminal; `propwright check` and `propwright build` do not")
	}
	file := ""
	if len(args) > 0 {
		file = args[0]
	}
	return editor.Run(file)
}

// onTerminal reports whether the command's output goes to a terminal.
func onTerminal(cmd *cobra.Command) bool {
	f, ok := unfiltered(cmd.OutOrStdout()).(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
