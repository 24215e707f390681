// Command propwright turns the design of an animatronic prop into firmware
// for its microcontroller, checks the design first, and writes tests for what
// it made.
//
// It knows flags, messages and exit codes; everything else is in model and gen. An
// error says what to do, as in age's cmd/age/tui.go, and scripts test the commands, as
// in the age_test.go beside that.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"

	"github.com/spf13/cobra"

	"propwright/model"
)

// Exit codes.
const (
	exitFine   = 0
	exitDesign = 1 // the design has errors
	exitCall   = 2 // the call or the file is wrong: also a file that is not format 1
)

// errDesign ends a command whose findings, already shown, hold an error.
var errDesign = errors.New("the design has errors")

// errShown ends a command whose faults have been shown as JSON.
var errShown = errors.New("the file has faults")

func main() {
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

// commands lists all commands, each in a file of its own.
var commands = []func() *cobra.Command{
	editCommand,
	newCommand,
	checkCommand,
	buildCommand,
	rehearseCommand,
	proveCommand,
	flashCommand,
	liveCommand,
	learnCommand,
	trimCommand,
	addCommand,
	chartCommand,
	diffCommand,
	cardCommand,
	tourCommand,
	wiringCommand,
	exportCommand,
	importCommand,
	fmtCommand,
	doctorCommand,
	versionCommand,
	licencesCommand,
}

func rootCommand() *cobra.Command {
	root := &cobra.Command{
		Use:     "propwright",
		Short:   "Design, check and build the firmware of an animatronic prop",
		Version: versionText(),
		Long: `propwright turns a design file (NAME.prop.toml) into the firmware of an
animatronic prop: servos, lights and sounds run by an infrared remote.
propwright help start leads from nothing to a rehearsed prop.

Exit codes: 0 fine; 1 the design has errors; 2 the call or the file is wrong.`,
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.SetVersionTemplate("{{.Version}}")
	root.SetFlagErrorFunc(flagHint)
	for _, command := range commands {
		root.AddCommand(command())
	}
	addTopics(root)
	root.SetHelpCommand(helpCommand())
	editByDefault(root)
	return root
}

// run executes one call of the command and returns its exit code.
func run(args []string, stdout, stderr io.Writer) int {
	// A command has little in memory and ends soon: with garbage collected at five times
	// what is in use, not twice, a build takes a third less.
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400)
	}
	root := rootCommand()
	root.SetArgs(args)
	stdout, stderr = &shown{Writer: stdout}, &shown{Writer: stderr}
	root.SetOut(stdout)
	root.SetErr(stderr)

	err := root.Execute()
	var faults model.Faults
	switch {
	case err == nil:
		return exitFine
	case errors.Is(err, errDesign):
		return exitDesign
	case errors.Is(err, errShown):
	case errors.As(err, &faults):
		fmt.Fprintln(stderr, faults)
	default:
		fmt.Fprintln(stderr, "propwright:", err)
	}
	return exitCall
}

// completeDesign lets the shell complete the names of design files.
func completeDesign(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return []string{"prop.toml"}, cobra.ShellCompDirectiveFilterFileExt
}
