package main

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"text/template"

	"github.com/spf13/cobra"

	"propwright/model"
)

const designSuffix = ".prop.toml"

//go:embed starter.prop.toml
var starterText string

var starter = template.Must(template.New("starter.prop.toml").Parse(starterText))

func newCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "new NAME",
		Short: "Write a small design to start from",
		Long: `Write NAME.prop.toml, a small design to start from: it sleeps, watches and
greets. NAME may have folders before it, and .prop.toml after it. A file that
is there already is not overwritten.`,
		Example: "  propwright new harbour-heron",
		Args:    named("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			file, err := writeStarter(args[0])
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
}

// writeStarter writes the starting design and returns the file's name.
func writeStarter(arg string) (string, error) {
	name := strings.TrimSuffix(filepath.Base(arg), designSuffix)
	if !model.IsPropName(name) {
		return "", fmt.Errorf("%q is not a name for a prop: it takes 1 to 24 of a-z, 0-9 and -, a letter first, as in harbour-heron, and is not a device of Windows such as con or com1", name)
	}
	file := filepath.Join(filepath.Dir(arg), name+designSuffix)
	var text bytes.Buffer
	if err := starter.Execute(&text, struct{ Name, Label, File string }{name, model.LabelOf(name), filepath.Base(file)}); err != nil {
		return "", err
	}
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return "", fmt.Errorf("%s is there already and was not touched; choose another name", file)
	}
	if err != nil {
		return "", err
	}
	_, err = f.Write(text.Bytes())
	if err = errors.Join(err, f.Close()); err != nil {
		os.Remove(file) // ours, and half written
	}
	return file, err
}
