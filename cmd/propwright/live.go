package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"time"

	"github.com/google/renameio/v2/maybe"
	"github.com/spf13/cobra"

	"propwright/cmd/propwright/live"
	"propwright/cmd/propwright/ports"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
)

func liveCommand() *cobra.Command {
	var port, save string
	var lasts time.Duration
	cmd := &cobra.Command{
		Use: "live FILE",
		Example: `  propwright live heron.prop.toml
  propwright live heron.prop.toml --port /dev/ttyACM0 --save heron.bench.rehearsal.txt
  echo wake | propwright live heron.prop.toml --for 10s`,
		Args:              named("FILE"),
		ValidArgsFunction: completeDesign,
		RunE: func(cmd *cobra.Command, args []string) error {
			d, err := model.Load(args[0])
			if err != nil {
				return err
			}
			study := check.NewStudy(d)
			if err := live.CanTell(study); err != nil {
				return err
			}
			if save != "" {
				if _, err := os.Stat(save); err == nil {
					return fmt.Errorf("%s is there already; choose another name", save)
				}
			}
			if port, err = portOf(d, port); err != nil {
				return err
			}
			if err := ports.May(port); err != nil {
				return err
			}
			fmt.Fprintln(cmd.OutOrStdout(), "Most boards restart when their port is opened, and the prop may move: hands, hair and cables stay clear.")
			line, err := ports.Open(port, sketch.LiveBaud)
			if err != nil {
				return err
			}
			defer line.Close()
			l := &listening{Prop: live.NewProp(study, line, time.Now()), out: cmd.OutOrStdout()}
			err = l.listen(line, cmd.InOrStdin(), lasts)
			if save != "" {
				if unsaved := l.save(save, d.File); err == nil {
					err = unsaved
				}
			}
			return err
		},
	}
	cmd.Flags().StringVar(&port, "port", "", "the serial port `NAME` of the board")
	cmd.Flags().StringVar(&save, "save", "", "keep what was heard as a rehearsal in `FILE`")
	cmd.Flags().DurationVar(&lasts, "for", 0, "how long to listen, such as 10s")
	return cmd
}

// A listening is one run of the command.
type listening struct {
	*live.Prop
	out io.Writer
}

func (l *listening) say(text string) { fmt.Fprintf(l.out, "%10.3f s  %s\n", l.At.Seconds(), text) }

// listen shows the prop's reports and sends the presses that are typed, until the line
// ends, the time is over or the user interrupts.
func (l *listening) listen(line io.Reader, typed io.Reader, lasts time.Duration) error {
	done := make(chan struct{})
	defer close(done)
	queued := make(chan func())
	queue := func(f func()) {
		select {
		case queued <- f:
		case <-done:
		}
	}
	var ended error
	defer l.Listen(line, queue, l.say, func(err error) { ended = err })()
	var presses []string // typed and not sent yet: one at a time
	go func() {
		for in := bufio.NewScanner(typed); in.Scan(); {
			if name := strings.TrimSpace(in.Text()); name != "" {
				queue(func() { presses = append(presses, name) })
			}
		}
	}()
	interrupted := make(chan os.Signal, 1)
	signal.Notify(interrupted, os.Interrupt)
	defer signal.Stop(interrupted)
	var over <-chan time.Time
	if lasts > 0 {
		over = time.After(lasts)
	}
	for ended == nil {
		if len(presses) > 0 && l.There && !l.Waiting() {
			name := presses[0]
			presses = presses[1:]
			if err := l.Press(name, time.Now()); err != nil {
				l.say(err.Error())
			}
		}
		select {
		case f := <-queued:
			f()
		case <-over:
			return nil
		case <-interrupted:
			return nil
		}
	}
	if errors.Is(ended, live.ErrClosed) {
		l.say(live.ErrClosed.Error())
		return nil
	}
	return ended
}

// save keeps what was heard as a rehearsal.
func (l *listening) save(file, design string) error {
	s, err := l.Script()
	if err != nil {
		return fmt.Errorf("nothing was saved: %w", err)
	}
	if err := maybe.WriteFile(file, s.Format("Heard from a prop of "+design+".\nWhat depends on chance comes otherwise with another seed."), 0o666); err != nil {
		return err
	}
	fmt.Fprintf(l.out, "%s: saved. Play it with propwright rehearse %s --script %[1]s\n", file, design)
	return nil
}
