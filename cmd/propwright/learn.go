package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"propwright/cmd/propwright/ports"
	"propwright/cmd/propwright/presses"
	"propwright/cmd/propwright/store"
	"propwright/gen"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/edit"
	"propwright/model/ir"
)

func learnCommand() *cobra.Command {
	var sketchDir, port, from, keymap string
	cmd := &cobra.Command{
		Use:   "learn [FILE] [BUTTON…]",
		Short: "Learn a remote's buttons",
		Long: `Learn the buttons of a remote and write their codes into a design.

First flash a board with the capture sketch and connect a receiver to the pin
that FILE names for it (without FILE: pin 2 of an atmega328p):

  propwright learn heron.prop.toml --sketch .

Then press the buttons, one after the other. Those named in the call are
asked for in that order; without names you are asked for one each time. A
button that is in the design already gets the new code, another one is added.
After noise, or a code that another button sends, you are asked to press again.
The design is saved after each button.

  propwright learn heron.prop.toml wake sleep --port /dev/ttyACM0

--from reads the presses from a file instead: times as ir-ctl or mode2 write
them, or a plain list of microseconds, marks and spaces in turn. A press ends
with a timeout that ir-ctl notes, or with a silence of 250000. --keymap takes
the buttons from a keymap of ir-keytable: all, or the keys named in the call,
as KEY or KEY=BUTTON.`,
		Example: `  propwright learn heron.prop.toml wake --from presses.txt
  propwright learn heron.prop.toml power=sleep volumeup --keymap /lib/udev/rc_keymaps/odroid.toml`,
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			if sketchDir != "" {
				if len(args) > 1 {
					return fmt.Errorf("--sketch needs no buttons; name at most the design file")
				}
				return writeCapture(cmd.OutOrStdout(), args, sketchDir)
			}
			if len(args) == 0 {
				return fmt.Errorf("learn needs the design file; write for example %q", "propwright learn heron.prop.toml --port /dev/ttyACM0")
			}
			d, err := model.Load(args[0])
			if err != nil {
				return err
			}
			l := &learning{Session: presses.Session{Draft: edit.New(d)}, file: args[0], in: bufio.NewScanner(cmd.InOrStdin()), out: cmd.OutOrStdout()}
			switch {
			case keymap != "":
				err = l.fromKeymap(keymap, args[1:])
			case from != "":
				var recording *presses.Recording
				if recording, err = presses.FromFile(from); err != nil {
					return err
				}
				err = l.ask(args[1:], recording)
			case port != "":
				var line *presses.Line
				if line, err = presses.Open(port); err != nil {
					return err
				}
				defer line.Close()
				err = l.ask(args[1:], line)
			default:
				return fmt.Errorf("say where from: --port for a board with the capture sketch, --from for saved times, --keymap for a keymap; --sketch writes the capture sketch")
			}
			return errors.Join(err, l.done())
		},
	}
	cmd.Flags().StringVar(&sketchDir, "sketch", "", "write the capture sketch into a folder in `DIR`")
	cmd.Flags().StringVar(&port, "port", "", "the serial port `NAME` of a board with the capture sketch")
	cmd.Flags().StringVar(&from, "from", "", "a `FILE` with saved times")
	cmd.Flags().StringVar(&keymap, "keymap", "", "a keymap `FILE` of ir-keytable")
	cmd.MarkFlagsMutuallyExclusive("sketch", "port", "from", "keymap")
	return cmd
}

// writeCapture writes the capture sketch for the design's board and pin.
func writeCapture(out io.Writer, args []string, dir string) error {
	board, pin := "atmega328p", 2
	if len(args) > 0 {
		d, err := model.Load(args[0])
		if err != nil {
			return err
		}
		board, pin = d.Prop.Board, d.Remote.Pin
	}
	files, err := sketch.Capture(board, pin)
	if err != nil {
		return err
	}
	folder := filepath.Join(dir, sketch.CaptureFolder)
	if _, err := gen.Write(folder, files); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, `%s: the capture sketch for the %s, receiver on pin %d.
Next: flash it, then run

  propwright learn FILE --port PORT

%s
`, folder, board, pin, ports.There())
	return err
}

// A learning is one run of the command.
type learning struct {
	presses.Session
	file    string
	learned int // buttons that got a code
	in      *bufio.Scanner
	out     io.Writer
}

func (l *learning) say(format string, args ...any) { fmt.Fprintf(l.out, format+"\n", args...) }

// ask learns the named buttons or, without names, those that the user names.
func (l *learning) ask(names []string, from presses.Source) error {
	l.Source = from
	asked := len(names) == 0
	if asked {
		var known []string
		for i := range l.Draft.Design().Remote.Buttons {
			known = append(known, l.Draft.Design().Remote.Buttons[i].Name)
		}
		l.say("Buttons of the design: %s. A name that is not among them is a new button.", strings.Join(known, ", "))
	}
	for {
		var name string
		switch {
		case len(names) > 0:
			name, names = names[0], names[1:]
		case asked:
			fmt.Fprint(l.out, "Name of the next button (empty: done): ")
			if !l.in.Scan() || strings.TrimSpace(l.in.Text()) == "" {
				fmt.Fprintln(l.out)
				if errors.Is(l.in.Err(), bufio.ErrTooLong) {
					return errors.New("what was typed is far longer than a name; what was learned before is saved")
				}
				return l.in.Err()
			}
			name = strings.TrimSpace(l.in.Text())
		default:
			return nil
		}
		if err := buttonName(name); err != nil {
			if !asked {
				return err
			}
			l.say("%v", err)
			continue
		}
		if err := l.button(name); err != nil {
			return err
		}
	}
}

// button learns one button.
func (l *learning) button(name string) error {
	b := l.Begin(name)
	l.say("Press %q, and keep it down for a second.", name)
	for {
		lesson, err := l.next()
		if errors.Is(err, io.EOF) {
			return fmt.Errorf("no more presses came; %q was not learned", name)
		}
		if err != nil {
			return err
		}
		said := b.Take(lesson)
		if b.Code == nil {
			l.say("  Once more: %s", said)
			continue
		}
		l.say("  %s = %q: %s", name, *b.Code, said)
		before := l.Draft.Design().Remote.Repeat
		if err := l.teach(ir.Named{Name: name, Code: *b.Code}); err != nil {
			return err
		}
		if now := l.Draft.Design().Remote.Repeat; now != before {
			l.say("  the remote now has repeat = %q", now)
		}
		return nil
	}
}

// quiet is after how long without a press it is said what may be missing.
const quiet = 10 * time.Second

// next waits for a press.
func (l *learning) next() (lesson ir.Lesson, err error) {
	heard := make(chan struct{})
	go func() {
		lesson, err = l.Source.Next()
		close(heard)
	}()
	select {
	case <-heard:
	case <-time.After(quiet):
		l.say("  Nothing is heard yet: the board must run the capture sketch, and have an infrared receiver on pin %d.", l.Draft.Design().Remote.Pin)
		<-heard
	}
	return lesson, err
}

// mostKeys is far more than the keys of any remote.
const mostKeys = 256

// fromKeymap imports keys of a keymap: those asked for as KEY or KEY=BUTTON, or all.
func (l *learning) fromKeymap(file string, asked []string) error {
	m, err := presses.Keymap(file)
	if err != nil {
		return err
	}
	for _, why := range m.Refused {
		l.say("Not taken over: %s.", why)
	}
	if len(m.Keys) == 0 {
		return fmt.Errorf("%s: no code of this keymap can be taken over", file)
	}
	byName := map[string]ir.Code{}
	var names []string
	for _, k := range m.Keys {
		byName[k.Name] = k.Code
		names = append(names, k.Name)
	}
	if len(asked) == 0 {
		if len(names) > mostKeys {
			return fmt.Errorf("%s has %d keys, more than a remote; name those to take over", file, len(names))
		}
		asked = names
	}
	var wanted []ir.Named
	for _, a := range asked {
		key, button, other := strings.Cut(a, "=")
		if !other {
			button = key
		}
		code, ok := byName[key]
		if !ok {
			advice := "it has " + strings.Join(names[:min(len(names), mostKeys)], ", ")
			if near := model.Nearest(key, names); near != "" {
				advice = fmt.Sprintf("write %q", near)
			}
			return fmt.Errorf("%s has no key %q; %s", file, key, advice)
		}
		if err := buttonName(button); err != nil {
			return err
		}
		wanted = append(wanted, ir.Named{Name: button, Code: code})
	}
	if err := l.teach(wanted...); err != nil {
		return err
	}
	for _, w := range wanted {
		l.say("  %s = %q", w.Name, w.Code)
	}
	return nil
}

func buttonName(name string) error {
	if model.IsPrintedName(name) {
		return nil
	}
	return fmt.Errorf("%q is not a name for a button: it takes 1 to 24 of a-z, 0-9 and -, a letter or digit first", name)
}

// teach writes buttons' codes into the file as it is now: another program may have
// saved it since the last one.
func (l *learning) teach(buttons ...ir.Named) error {
	_, err := store.Change(l.file, func(d *model.Design) (*model.Design, error) {
		l.Draft = edit.New(d)
		if err := l.Draft.Teach(buttons...); err != nil {
			return nil, err
		}
		return l.Draft.Design(), nil
	})
	if err != nil {
		return err
	}
	l.learned += len(buttons)
	return nil
}

// done says what has been learned and what comes next.
func (l *learning) done() error {
	if l.learned == 0 {
		return nil
	}
	_, err := fmt.Fprintf(l.out, "%s: %s learned. Next: propwright check %[1]s\n", l.file, counted(l.learned, "button"))
	return err
}
