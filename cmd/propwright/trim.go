package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"propwright/cmd/propwright/ports"
	"propwright/cmd/propwright/store"
	"propwright/cmd/propwright/trim"
	"propwright/gen"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/edit"
)

const trimHelp = `  +  -        a step of 10us; an empty line is the same once more
  +3  -25     so many microseconds
  1480        to a width where it has been
  min  max    this is the linkage's end; min -28deg says the angle, too
  rest        this is where it rests
  stop        this is where a spinner stands still
  clear       ends that were confirmed here are open again
  undo        take the last setting back
  NAME        another servo or spinner
  quit        leave, with what was set saved`

func trimCommand() *cobra.Command {
	var sketchDir, port string
	cmd := &cobra.Command{
		Use:   "trim FILE [OUTPUT]",
		Short: "Set a servo's ends by moving it",
		Long: `Move servos and spinners by hand, and write into the design where a linkage
ends and rests, and at which pulse a spinner stands still. Upload the trim sketch
first, with propwright flash FILE --trim or, where that cannot be, from the folder
that --sketch writes. Then the board is looked for by its USB IDs; --port says where
it is:

  propwright trim heron.prop.toml neck

` + trimHelp + `

A servo goes at once to its first pulse, that of its rest in the design: hands and
hair stay clear, and where the linkage could be in the way, take the horn off first.
After that it turns slowly, over ground where it has not been by 10us at a time, and
never past an end that was confirmed. Every setting is saved at once. The pulses end
two seconds after the line does.`,
		Example: `  propwright flash heron.prop.toml --trim
  propwright trim heron.prop.toml neck --port /dev/ttyACM0`,
		Args:              cobra.RangeArgs(1, 2),
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			d, err := model.Load(args[0])
			if err != nil {
				return err
			}
			files, err := sketch.Trim(d)
			if err != nil {
				return err
			}
			out := cmd.OutOrStdout()
			if sketchDir != "" {
				folder := filepath.Join(sketchDir, sketch.TrimFolder)
				if _, err := gen.Write(folder, files); err != nil {
					return err
				}
				_, err := fmt.Fprintf(out, "%s: the trim sketch for %s on the %s\nNext: upload it, then run propwright trim %s\n", folder, d.Prop.Label, d.Prop.Board, args[0])
				return err
			}
			t := &trimming{file: args[0], out: out, jogs: map[string]*trim.Jog{}}
			first := sketch.Trimmed(d)[0].Name
			if len(args) > 1 {
				first = args[1]
			}
			if _, err := t.number(d, first); err != nil {
				return err
			}
			if port, err = portOf(d, port); err != nil {
				return err
			}
			if err := ports.May(port); err != nil {
				return err
			}
			fmt.Fprintf(out, "The board is reset, and the servo goes to its rest: hands, hair and cables stay clear.\nWaiting for the trim sketch on %s; that and each long way take some seconds.\n", port)
			if t.line, err = trim.Open(port, d.Prop.Name); err != nil {
				return err
			}
			defer t.line.Close()
			return t.run(d, first, cmd.InOrStdin())
		},
	}
	cmd.Flags().StringVar(&sketchDir, "sketch", "", "write the trim sketch into a folder in `DIR`")
	cmd.Flags().StringVar(&port, "port", "", "the serial port `NAME` of a board with the trim sketch")
	cmd.MarkFlagsMutuallyExclusive("sketch", "port")
	return cmd
}

// A trimming is one run of the command.
type trimming struct {
	file string
	out  io.Writer
	line *trim.Line
	jogs map[string]*trim.Jog // by their output's name: each keeps the ground that it has covered
	jog  *trim.Jog
	done []trimmed
}

// A trimmed is a setting that was made, with the values before it.
type trimmed struct {
	output string
	was    []trim.Setting
}

func (t *trimming) say(format string, args ...any) { fmt.Fprintf(t.out, format+"\n", args...) }

// number returns the trim sketch's number of an output.
func (t *trimming) number(d *model.Design, output string) (int, error) {
	var names []string
	for i, o := range sketch.Trimmed(d) {
		if o.Name == output {
			return i, nil
		}
		names = append(names, o.Name)
	}
	return 0, fmt.Errorf("there is no servo and no spinner %q; there are: %s", output, strings.Join(names, ", "))
}

// take turns to an output.
func (t *trimming) take(d *model.Design, output string) error {
	n, err := t.number(d, output)
	if err != nil {
		return err
	}
	j := t.jogs[output]
	if j == nil {
		j = trim.NewJog(d.Output(output), func(us int) error { return t.line.Move(n, us) })
	}
	if err := j.Start(); err != nil {
		return err
	}
	t.jog, t.jogs[output] = j, j
	return nil
}

func (t *trimming) run(d *model.Design, first string, in io.Reader) error {
	if err := t.take(d, first); err != nil {
		return err
	}
	t.say("%s\n", trimHelp)
	lines := bufio.NewScanner(in)
	for {
		where := fmt.Sprintf("%s %dus", t.jog.Output.Name, t.jog.Us)
		if t.jog.Output.Kind == model.KindServo {
			where += ", " + t.jog.Angle().String()
		}
		fmt.Fprint(t.out, where, "> ")
		if !lines.Scan() {
			fmt.Fprintln(t.out)
			return lines.Err()
		}
		words := strings.Fields(lines.Text())
		if len(words) == 1 && words[0] == "quit" {
			return nil
		}
		var refused *trim.Refused
		switch err := t.obey(words); {
		case errors.As(err, &refused):
			t.say("  %v", err)
		case err != nil:
			return err
		}
	}
}

// obey carries out one line. An error other than a *trim.Refused ends the run.
func (t *trimming) obey(words []string) error {
	if len(words) == 0 {
		return t.jog.Again()
	}
	word, angle := words[0], strings.Join(words[1:], " ")
	end := word == "min" || word == "max"
	if angle != "" && !end {
		return trim.Refuse("%q is one word too many; help lists what can be said", angle)
	}
	switch {
	case word == "+":
		return t.jog.By(trim.Step)
	case word == "-":
		return t.jog.By(-trim.Step)
	case end:
		return t.set(t.jog.End(word == "max", angle))
	case word == "rest" || word == "stop":
		return t.set(t.jog.Rest())
	case word == "clear":
		t.jog.Clear()
		return nil
	case word == "undo":
		return t.undo()
	case word == "help" || word == "?":
		t.say("%s", trimHelp)
		return nil
	}
	if n, err := strconv.Atoi(word); err == nil {
		if word[0] == '+' || word[0] == '-' {
			return t.jog.By(n)
		}
		return t.jog.To(n)
	}
	d, err := model.Load(t.file)
	if err != nil {
		return err
	}
	if _, err := t.number(d, word); err != nil {
		return trim.Refuse("%v; help lists what else can be said", err)
	}
	return t.take(d, word)
}

// set saves settings, and shows the values before.
func (t *trimming) set(settings []trim.Setting, err error) error {
	if err != nil {
		return err
	}
	was, err := t.save(t.jog.Output.Name, settings)
	if err != nil {
		return err
	}
	t.done = append(t.done, trimmed{t.jog.Output.Name, was})
	for i, s := range settings {
		t.say("  %s %s = %s, was %s", t.jog.Output.Name, s.Key, s.Value, was[i].Value)
	}
	return nil
}

// undo undoes the last setting.
func (t *trimming) undo() error {
	if len(t.done) == 0 {
		return trim.Refuse("nothing has been set yet")
	}
	last := t.done[len(t.done)-1]
	if _, err := t.save(last.output, last.was); err != nil {
		return err
	}
	t.done = t.done[:len(t.done)-1]
	for _, s := range last.was {
		t.say("  %s %s = %s again", last.output, s.Key, s.Value)
	}
	return nil
}

// save writes settings of an output into the file as it is now, and returns the values
// before.
func (t *trimming) save(output string, settings []trim.Setting) (was []trim.Setting, err error) {
	var refused error
	_, err = store.Change(t.file, func(d *model.Design) (*model.Design, error) {
		at, ok := d.Find(model.SortOutput, output)
		if !ok {
			return nil, fmt.Errorf("%s: the output %q is not there any more", t.file, output)
		}
		was = nil
		draft := edit.New(d)
		for _, s := range settings {
			was = append(was, trim.Setting{Key: s.Key, Value: d.Value(at, s.Key)})
			if refused = draft.Set(at, s.Key, s.Value); refused != nil {
				return d, nil
			}
		}
		changed := draft.Design()
		if _, refused = model.Read(t.file, changed.Format()); refused != nil {
			return d, nil
		}
		t.jogs[output].Output = changed.Output(output)
		return changed, nil
	})
	if err == nil && refused != nil {
		err = trim.Refuse("%v", refused)
	}
	return was, err
}
