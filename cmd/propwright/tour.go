package main

import (
	"github.com/spf13/cobra"

	"propwright/gen/tour"
	"propwright/model"
	"propwright/model/check"
)

func tourCommand() *cobra.Command {
	var out string
	cmd := withDesign(&cobra.Command{
		Use:   "tour FILE",
		Short: "Write a walk that tries every button at the bench",
		Long: `Write numbered steps for somebody with the remote in hand and the prop before
them: what to press, and what must be seen. The walk presses every button in
every state; performing states that answer everything alike are tried once and
all seen. It ends with what it could not try, and why.`,
		Example: "  propwright tour heron.prop.toml -o tour.txt",
	}, func(cmd *cobra.Command, d *model.Design) error {
		return deliver(cmd, out, tour.Find(check.NewStudy(d)).Text())
	})
	outFlag(cmd, &out, "the file to write")
	return cmd
}
