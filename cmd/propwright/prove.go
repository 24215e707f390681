package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/google/renameio/v2/maybe"
	"github.com/spf13/cobra"

	"propwright/gen/avr"
	"propwright/gen/bench"
	"propwright/gen/harness"
	"propwright/gen/prove"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/check"
)

func proveCommand() *cobra.Command {
	var hex, out string
	var extra int
	cmd := &cobra.Command{
		Use:   "prove FILE",
		Short: "Try the firmware on a simulated chip against the design",
		Long: `Build a prop's firmware in a temporary folder and try whether it does what the
design says, in three parts:

  harness      the go test that build writes, on this computer
  conformance  the compiled firmware on a simulated chip: infrared frames at the
               receiver's pin, levels at the inputs, in sequences that tell the
               design's behaviour from every other of no more states
  tour         the bench walk on the same chip, with every servo's pulses, every
               strip's colours, every level and every byte looked at

A part that needs what is not installed is not tried, and the verdict says so.
Where the firmware differs it is said after which presses, what was expected and
what came; with -o that is a rehearsal, to be played at the design.

With --hex a firmware compiled elsewhere is tried, an Intel HEX or an ELF file.
Nothing is known of its variables, so it is judged by its pins alone, in
conformance and tour. What chance decides must have a seed in the design.

Events of the design are posted too, in the place of your own code, as far as the
board has a free pin for each. Your own code itself is only tried in the firmware
of --hex, and there nothing has it post its events. No chip is proven by a simulated
one, and no mechanism by a firmware: try the prop with hands clear.

The exit code is 0 only if every part was tried and held.`,
		Example: `  propwright prove heron.prop.toml
  propwright prove heron.prop.toml -o heron.differs.rehearsal.txt
  propwright prove heron.prop.toml --hex heron.ino.hex`,
		Args:              named("FILE"),
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			if extra < 0 || extra > 3 {
				return fmt.Errorf("--extra %d: say how many states more the firmware may have, 0 to 3", extra)
			}
			if out != "" {
				if _, err := os.Stat(out); err == nil {
					return fmt.Errorf("%s is there already; choose another name", out)
				}
			}
			d, err := model.Load(args[0])
			if err != nil {
				return err
			}
			if hex != "" {
				if err := prove.Judgeable(d); err != nil {
					return err
				}
				b, _ := board.ByName(d.Prop.Board)
				if err := avr.IsFirmware(hex, b); err != nil {
					return err
				}
			} else if d.Prop.Seed == 0 {
				d.Prop.Seed = 1
			}
			study := check.NewStudy(d)
			findings, err := study.Check(sketch.Rules())
			if err != nil {
				return err
			}
			if findings.Count(check.Error) > 0 {
				return refuse(cmd, false, d, findings)
			}
			dir, ctx, leave, err := workroom(cmd.Context())
			if err != nil {
				return err
			}
			defer leave()
			p := &proving{cmd: cmd, ctx: ctx, firmware: &prove.Firmware{Study: study, Program: hex, Bare: hex != ""}, held: true}
			if hex == "" {
				sources := filepath.Join(dir, sketch.Folder(d))
				scripts, err := scriptsOf(args)
				if err != nil {
					return err
				}
				if _, err := write(study, sources, scripts); err != nil {
					return err
				}
				p.harness(filepath.Join(sources, harness.Folder), extra)
				err = onChip(d)
				if err == nil {
					err = p.firmware.Compile(sources, dir)
				}
				if p.ctx.Err() != nil {
					err = errInterrupted
				}
				if err != nil {
					p.left("conformance", err)
					p.left("tour", err)
					return p.verdict(out)
				}
			} else if err := bench.Ready(); err != nil {
				p.left("conformance", err)
				p.left("tour", err)
				return p.verdict(out)
			}
			p.part("conformance", func(ctx context.Context, progress func(done, of int)) (*prove.Result, error) {
				return p.firmware.Conformance(ctx, extra, progress)
			})
			p.part("tour", p.firmware.Tour)
			return p.verdict(out)
		},
	}
	cmd.Flags().StringVar(&hex, "hex", "", "prove the firmware in this Intel HEX or ELF `FILE`")
	cmd.MarkFlagFilename("hex", "hex", "elf")
	cmd.Flags().IntVar(&extra, "extra", 0, "how many `STATES` more than the design the firmware may have")
	cmd.Flags().StringVarP(&out, "out", "o", "", "write a difference as a rehearsal to `FILE`")
	return cmd
}

// onChip says what is missing to compile a design's firmware and to run it.
func onChip(d *model.Design) error {
	if b, _ := board.ByName(d.Prop.Board); b.Portable {
		return errors.Join(missing(tool("gcc", "gcc", cCompiler)), missing(tool("g++", "g++", "a C++ compiler that is called g++")))
	}
	_, err := avr.Find()
	return errors.Join(err, bench.Ready())
}

func missing(look func() (string, error)) error {
	_, err := look()
	return err
}

// A proving is one run of the command.
type proving struct {
	cmd      *cobra.Command
	ctx      context.Context // until the user interrupts
	firmware *prove.Firmware
	held     bool // all so far
	differs  bool // what a part has tried does not hold
	against  *prove.Difference
}

// say prints the result of a part; further lines are indented.
func (p *proving) say(part, format string, args ...any) {
	text := strings.ReplaceAll(strings.TrimSpace(fmt.Sprintf(format, args...)), "\n", "\n"+strings.Repeat(" ", 13))
	fmt.Fprintf(p.cmd.OutOrStdout(), "%-12s %s\n", part, text)
}

func (p *proving) left(part string, err error) {
	p.held = false
	p.say(part, "not tried: %v", err)
}

// harness runs the tests that build writes.
func (p *proving) harness(dir string, extra int) {
	if err := errors.Join(missing(tool("go", "golang", "Go")), missing(tool("gcc", "gcc", cCompiler))); err != nil {
		p.left("harness", err)
		return
	}
	test := exec.CommandContext(p.ctx, "go", "test", "-extra", strconv.Itoa(extra))
	test.Dir = dir
	test.Env = append(os.Environ(), "CGO_ENABLED=1", "GOFLAGS=", "GOWORK=off")
	said, err := test.CombinedOutput()
	if p.ctx.Err() != nil {
		p.left("harness", errInterrupted)
		return
	}
	if err != nil {
		p.held = false
		p.say("harness", "does not hold: %v\n%s", err, said)
		return
	}
	p.say("harness", "holds")
}

// part tries a part on the chip.
func (p *proving) part(name string, try func(ctx context.Context, progress func(done, of int)) (*prove.Result, error)) {
	const pause = 5 * time.Second
	said := time.Now()
	r, err := try(p.ctx, func(done, of int) {
		if time.Since(said) > pause {
			fmt.Fprintf(p.cmd.ErrOrStderr(), "%s: %d of %d\n", name, done, of)
			said = time.Now()
		}
	})
	switch {
	case p.ctx.Err() != nil:
		p.left(name, errInterrupted)
	case err != nil:
		p.held, p.differs = false, true
		p.say(name, "does not hold: %v", err)
	case r.Against != nil:
		p.held, p.differs, p.against = false, true, r.Against
		p.say(name, "does not hold\n%s\nafter %s", r.Against, r.Shown)
	case r.Shown == "":
		p.held = false
		p.say(name, "not tried: %s", strings.Join(r.Left, "\n"))
	default:
		p.say(name, "holds: %s", r.Shown)
		for _, l := range r.Left {
			p.say("", "not shown: %s", l)
		}
	}
}

// verdict ends the run.
func (p *proving) verdict(out string) error {
	w := p.cmd.OutOrStdout()
	file := p.firmware.Study.File
	if out != "" && p.against != nil {
		if err := maybe.WriteFile(out, p.against.Script.Format("After this the firmware differs from "+file+".\n"+p.against.Wrong), 0o666); err != nil {
			return err
		}
		fmt.Fprintf(w, "%s: written. Play it with propwright rehearse %s --script %[1]s\n", out, file)
	}
	if !p.held {
		fmt.Fprintf(w, "%s: not proven\n", file)
		if p.firmware.Bare && p.differs {
			fmt.Fprintf(w, "Was %s built from %[2]s as it is now, and for the %[3]s?\n", p.firmware.Program, file, p.firmware.Study.Prop.Board)
		}
		return errDesign
	}
	_, err := fmt.Fprintf(w, "%s: proven, as far as the parts above show\n", file)
	return err
}
