package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"propwright/gen/wiring"
	"propwright/model"
)

func wiringCommand() *cobra.Command {
	var out string
	cmd := withDesign(&cobra.Command{
		Use:   "wiring FILE",
		Short: "Say what is connected to which pin, and how it is fed",
		Long: `Say what leads to which pin, with the resistors in between, how the parts are
fed, and through which fuse: the most that everything together draws, as the check
counts it. It is a table in words, or a drawing where the file's name ends in .svg
or .png. The values are common practice; the data sheets of your parts come first.`,
		Example: `  propwright wiring heron.prop.toml
  propwright wiring heron.prop.toml -o heron-wiring.svg`,
	}, func(cmd *cobra.Command, d *model.Design) error {
		p := wiring.New(d)
		text, err := p.Text(), error(nil)
		switch ending := strings.ToLower(filepath.Ext(out)); {
		case ending == ".svg":
			text, err = p.SVG()
		case ending == ".png":
			text, err = p.PNG()
		case out != "" && out != "-" && ending != ".txt":
			return fmt.Errorf("%s does not say what to write: let it end in .txt, .svg or .png", out)
		}
		if err != nil {
			return err
		}
		return deliver(cmd, out, text)
	})
	outFlag(cmd, &out, "the file to write, .txt, .svg or .png")
	return cmd
}
