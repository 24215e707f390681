package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"propwright/cmd/propwright/ports"
	"propwright/gen"
	"propwright/gen/avr"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/check"
)

func flashCommand() *cobra.Command {
	var b building
	var port string
	var capture, trim bool
	cmd := &cobra.Command{
		Use:   "flash FILE",
		Short: "Build the firmware and upload it to the board",
		Long: `Build a prop's firmware as build does, compile it with your hooks, see that it
fits, and upload it with avrdude through the board's boot loader. The board is
looked for by its USB IDs; --port says where it is.

With --capture it is not the prop's firmware but the sketch that learn needs, with
--trim the one that trim needs.

What is missing is said before anything is written: the compiler, the core
library, avrdude, the board, the right to use its port.`,
		Example: `  propwright flash heron.prop.toml
  propwright flash heron.prop.toml --port /dev/ttyACM0
  propwright flash heron.prop.toml --capture`,
		Args:              named("FILE"),
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			d, err := model.Load(args[0])
			if err != nil {
				return err
			}
			chip, _ := board.ByName(d.Prop.Board)
			if chip.Upload.Programmer == "" {
				return fmt.Errorf("how a sketch gets into the %s is not known: build it, and upload it with your board's usual IDE", chip.Name)
			}
			avrdude, err := avr.FindUploader()
			if _, noCompiler := avr.Find(); noCompiler != nil {
				err = errors.Join(noCompiler, err)
			}
			if err != nil {
				return fmt.Errorf("nothing was built or uploaded: %w", err)
			}
			if port, err = portOf(d, port); err != nil {
				return err
			}
			if err := ports.May(port); err != nil {
				return err
			}
			dir, ctx, leave, err := workroom(cmd.Context())
			if err != nil {
				return err
			}
			defer leave()
			b.linked = dir
			cmd.SetContext(ctx)
			link := b.firmware
			switch {
			case capture:
				link = b.helper(sketch.CaptureFolder, func(d *model.Design) ([]gen.File, error) {
					return sketch.Capture(d.Prop.Board, d.Remote.Pin)
				})
			case trim:
				link = b.helper(sketch.TrimFolder, sketch.Trim)
			}
			elf, err := link(cmd, args)
			if err != nil {
				return err
			}
			fmt.Fprintln(cmd.OutOrStdout(), "The board is reset now and when the upload ends, and a prop may move: hands, hair and cables stay clear.")
			line, err := ports.Open(port, chip.Upload.Baud)
			if err != nil {
				return err
			}
			line.Close()
			if chip.Upload.Touch {
				if port, err = touch(port); err != nil {
					return err
				}
			}
			if err := avr.Upload(ctx, avrdude, chip, elf, port, cmd.ErrOrStderr()); err != nil {
				return err
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "uploaded to the %s on %s, and read back\n", chip.Name, port)
			return err
		},
	}
	b.flags(cmd)
	cmd.Flags().StringVar(&port, "port", "", "the serial port `NAME` of the board")
	cmd.Flags().BoolVar(&capture, "capture", false, "upload the sketch that learn needs")
	cmd.Flags().BoolVar(&trim, "trim", false, "upload the sketch that trim needs")
	cmd.MarkFlagsMutuallyExclusive("capture", "trim")
	return cmd
}

// portOf returns the port that was named or, if that is "", the one that the design's
// board is on.
func portOf(d *model.Design, named string) (string, error) {
	if named != "" {
		return named, nil
	}
	chip, _ := board.ByName(d.Prop.Board)
	return ports.Of(chip, ports.List())
}

// firmware builds the prop's firmware and links it.
func (b *building) firmware(cmd *cobra.Command, args []string) (elf string, err error) {
	s, err := b.build(cmd, args)
	if err != nil {
		return "", err
	}
	if s.Memory.elf == "" || s.Findings.Count(check.Error) > 0 {
		if err := s.print(cmd.OutOrStdout()); err != nil {
			return "", err
		}
		fmt.Fprintln(cmd.ErrOrStderr(), "nothing was uploaded")
		return "", errDesign
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s is compiled: flash %s, SRAM %s\n", s.Sketch, share(s.Memory.Flash, s.Memory.FlashThere), share(s.Memory.SRAM, s.Memory.SRAMThere))
	return s.Memory.elf, nil
}

// helper links a sketch that is not the prop's firmware, such as the capture sketch.
func (b *building) helper(folder string, files func(*model.Design) ([]gen.File, error)) func(*cobra.Command, []string) (elf string, err error) {
	return func(cmd *cobra.Command, args []string) (string, error) {
		d, err := model.Load(args[0])
		if err != nil {
			return "", err
		}
		texts, err := files(d)
		if err != nil {
			return "", err
		}
		dir := filepath.Join(b.linked, folder)
		if _, err := gen.Write(dir, texts); err != nil {
			return "", err
		}
		return compile(cmd.Context(), dir, d.Prop.Board, b.linked)
	}
}

// touch starts the boot loader of a board with native USB: opening the port at 1200 baud
// and closing it makes the port disappear and return, perhaps under another name.
func touch(port string) (string, error) {
	line, err := ports.Open(port, 1200)
	if err != nil {
		return "", err
	}
	line.SetDTR(false)
	line.Close()
	const patience = 10 * time.Second // of the core's tools too, from memory
	before := ports.Names()
	for began := time.Now(); time.Since(began) < patience; time.Sleep(100 * time.Millisecond) {
		now := ports.Names()
		for _, name := range now {
			if !slices.Contains(before, name) {
				return name, nil
			}
		}
		before = now
	}
	if slices.Contains(before, port) {
		return port, nil // it was quicker than the list
	}
	return "", fmt.Errorf("the boot loader of the board on %s did not answer: press its reset button twice, then flash again", port)
}
