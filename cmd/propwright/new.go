package main

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/template"

	"github.com/spf13/cobra"

	"propwright/model"
	"propwright/model/designs"
)

const designSuffix = ".prop.toml"

//go:embed starter.prop.toml
var starterText string

var starter = template.Must(template.New("starter.prop.toml").Parse(starterText))

func newCommand() *cobra.Command {
	var from string
	cmd := &cobra.Command{
		Use:   "new NAME",
		Short: "Write a small design to start from",
		Long: `Write NAME.prop.toml, a small design to start from: it sleeps, watches and
greets. NAME may have folders before it, and .prop.toml after it. A file that
is there already is not overwritten.

With --from the design is a copy of an example under the new name:

  letterbox-wren   one servo, a lamp, and a contact that starts it
  mushroom-ring    lights, mist and a mat to step on; no servo
  lamp-tower       a joint with wires and a sound board on the serial line
  harbour-heron    the demo: four servos, a wheel, lights and sounds
  tide-teller      a beak that speaks, twelve servos on an expander, idle gestures
  market-players   ten servos, two sensors and ten buttons, for a larger chip`,
		Example: `  propwright new harbour-heron
  propwright new my-tower --from lamp-tower`,
		Args: named("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			file, err := writeNew(args[0], from)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), `%s: written.
Next: put in your pins, the safe travel of your linkage and your remote's
codes, then run

  propwright check %[1]s
  propwright build %[1]s
`, file)
			return nil
		},
	}
	cmd.Flags().StringVar(&from, "from", "", "the `EXAMPLE` to copy")
	cmd.RegisterFlagCompletionFunc("from", cobra.FixedCompletions(exampleNames(), cobra.ShellCompDirectiveNoFileComp))
	return cmd
}

func exampleNames() []string { return slices.Sorted(maps.Keys(designs.Examples())) }

// newText returns the text of a new design: an example's, or the starter's where from is "".
func newText(name, file, from string) ([]byte, error) {
	if from == "" {
		var text bytes.Buffer
		err := starter.Execute(&text, struct{ Name, Label, File string }{name, model.LabelOf(name), filepath.Base(file)})
		return text.Bytes(), err
	}
	text, ok := designs.Examples()[from]
	if !ok {
		advice := "the examples are " + strings.Join(exampleNames(), ", ")
		if near := model.Nearest(from, exampleNames()); near != "" {
			advice = "did you mean " + near + "?"
		}
		return nil, fmt.Errorf("there is no example %q; %s", from, advice)
	}
	d, err := model.Read(from+designSuffix, text)
	if err != nil {
		return nil, err
	}
	d.Prop.Name, d.Prop.Label = name, model.LabelOf(name)
	for i := range d.Remote.Buttons {
		d.Remote.Buttons[i].Unlearned = true
	}
	return d.Format(), nil
}

// writeNew writes a new design and returns the file's name.
func writeNew(arg, from string) (string, error) {
	name := strings.TrimSuffix(filepath.Base(arg), designSuffix)
	if !model.IsPropName(name) {
		return "", fmt.Errorf("%q is not a name for a prop: it takes 1 to 24 of a-z, 0-9 and -, a letter first, as in harbour-heron, and is not a device of Windows such as con or com1", name)
	}
	file := filepath.Join(filepath.Dir(arg), name+designSuffix)
	text, err := newText(name, file, from)
	if err != nil {
		return "", err
	}
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return "", fmt.Errorf("%s is there already and was not touched; choose another name", file)
	}
	if errors.Is(err, fs.ErrNotExist) {
		return "", fmt.Errorf("there is no folder %s; make it first", filepath.Dir(file))
	}
	if err != nil {
		return "", err
	}
	_, err = f.Write(text)
	if err = errors.Join(err, f.Close()); err != nil {
		os.Remove(file) // ours, and half written
	}
	return file, err
}
