package editor

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/signal"
	"syscall"
	"time"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/store"
	"propwright/model"
	"propwright/model/edit"
)

// Run opens the editor on a design file, in the terminal that the program
// runs in, until the user leaves. Where the file is not there, and with file
// "", it begins a new design.
//
// The error is model.Faults where the file is not a design, else it says why the
// file or the terminal cannot be used.
func Run(file string) error {
	var b beginning
	if file != "" {
		var err error
		if b, err = begin(file); err != nil {
			return err
		}
	}
	screen, err := newScreen()
	if err != nil {
		return err
	}
	colours := screen.Colors()
	if pane.Colourless() {
		colours = 0
	}
	e := newEditor(nothing(), newTheme(colours))
	if b.desk == nil {
		e.files.askStart(file)
	} else {
		e.files.take(b)
	}
	if b.kept != "" {
		e.files.tellDamaged(b)
	}
	e.app.SetScreen(screen)
	stop := e.files.watchDisk(2 * time.Second)
	ended := e.endBySignal()
	err = e.app.Run()
	stop()
	e.stopClocks()
	if e.stopped { // else the journal stays
		return errors.Join(err, e.desk.close())
	}
	return errors.Join(err, ended(), e.desk.leave())
}

// endBySignal restores the terminal when another program or the system ends the editor;
// ended then returns the reason. In the terminal Ctrl-C is a key.
func (e *Editor) endBySignal() (ended func() error) {
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	var by os.Signal
	done := make(chan struct{})
	go func() {
		defer close(done)
		if s, ok := <-signals; ok {
			by = s
			e.app.Stop()
		}
	}()
	return func() error {
		signal.Stop(signals)
		close(signals)
		<-done
		if by == nil {
			return nil
		}
		return fmt.Errorf("the editor was ended by another program (%v); the next start on the file offers what was not saved", by)
	}
}

// A beginning is what was found of a design file.
type beginning struct {
	desk *desk           // nil where there is nothing
	lost *store.Recovery // edits that were never saved, or nil
	kept string          // what became of the journal where it is damaged
}

// begin looks for a design file and for its journal.
func begin(file string) (b beginning, err error) {
	if b.lost, err = store.Recover(file); err != nil {
		return b, err
	}
	if b.lost != nil && b.lost.Design == nil {
		if b.kept, err = store.SetAside(file); err != nil {
			return b, err
		}
	}
	b.desk, err = openDesk(file)
	if errors.Is(err, fs.ErrNotExist) {
		err = nil
		if b.lost != nil && b.lost.Design != nil { // all that there ever was
			b.desk, err = newDesk(b.lost.Design, file)
			b.lost = nil
		}
	}
	return b, err
}

// take sits down at what there is.
func (f files) take(b beginning) {
	f.seat.sit(b.desk)
	if b.desk.fresh {
		f.say("brought back: it was never saved")
	}
	f.tellUnread()
	if b.lost != nil && b.kept == "" {
		f.offer(b.lost)
	}
}

// nothing returns the desk before there is a design.
func nothing() *desk {
	return &desk{draft: edit.New(&model.Design{Prop: model.Prop{Board: model.Boards[0]}})}
}

// tellDamaged says that edits which were never saved cannot be brought back.
func (f files) tellDamaged(b beginning) {
	f.over.Ask(&pane.Dialog{
		Title: "edits that cannot be brought back",
		Text: "The last run ended without saving, and the record of its edits, of " + b.lost.At.Format(time.DateTime) +
			", is damaged. It is kept as " + b.kept + ": a text editor may still show what is in it.",
		Items: []pane.Item{{Text: "go on without them"}},
	})
}

// offer asks what to do with edits that were never saved.
func (f files) offer(lost *store.Recovery) {
	text := "The last run ended without saving. Its edits, of " + lost.At.Format(time.DateTime) + ", are still there."
	if lost.Moved {
		text += " The file has been changed by another program since; undo goes between the two."
	}
	f.over.Ask(&pane.Dialog{Title: "bring back what was not saved?", Text: text, Must: true, Items: []pane.Item{
		{Text: "bring it back (undo gives the file as it is)", Run: func() error {
			f.desk.draft.Replace("bring back what was not saved", lost.Design)
			f.changed()
			return nil
		}},
		{Text: "throw it away", Run: func() error { return store.Discard(f.desk.file.Name()) }},
	}})
}

// watchDisk checks from time to time whether another program has changed the file, also
// while nothing is edited, until it is stopped.
func (f files) watchDisk(every time.Duration) (stop func()) {
	done := make(chan struct{})
	go func() {
		tick := time.NewTicker(every)
		defer tick.Stop()
		for {
			select {
			case <-done:
				return
			case <-tick.C:
				f.queue(func() { f.desk.look() })
			}
		}
	}()
	return func() { close(done) }
}
