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
		Use: "wiring FILE", // described in topics/wiring.md
		Example: `  propwright wiring heron.prop.toml
  propwright wiring heron.prop.toml -o heron-wiring.svg`,
	}, func(cmd *cobra.Command, d *model.Design) error {
		p := wiring.New(d)
		text, err := p.Text(), error(nil)
		ending := strings.ToLower(filepath.Ext(out))
		switch {
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
		if err := deliver(cmd, out, text); err != nil || ending != ".png" {
			return err
		}
		missingHint(cmd, p.Missing())
		return nil
	})
	outFlag(cmd, &out, "the file to write, .txt, .svg or .png")
	return cmd
}
