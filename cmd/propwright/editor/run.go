package editor

import (
	"github.com/gdamore/tcell/v2"
)

// Run opens the editor on a design file, in the terminal that the program
// runs in, until the user leaves. With file "" it begins a new design.
//
// The error is model.Faults where the file is no design, else it says why the
// file or the terminal cannot be used.
func Run(file string) error {
	d, err := openDesk(file)
	if err != nil {
		return err
	}
	screen, err := newScreen()
	if err != nil {
		return err
	}
	colours := screen.Colors()
	if colourless() {
		colours = 0
	}
	e := newEditor(d, newTheme(colours))
	e.app.SetScreen(screen)
	return e.app.Run()
}

// newScreen takes hold of the terminal.
func newScreen() (tcell.Screen, error) {
	screen, err := tcell.NewScreen()
	if err != nil {
		return nil, err
	}
	if err := screen.Init(); err != nil {
		return nil, err
	}
	screen.EnableMouse()
	screen.EnablePaste()
	return begun{screen}, nil
}

// begun is a screen that has been set up. tview would do it, but would not
// tell of errors; done twice it breaks a screen.
type begun struct{ tcell.Screen }

// Init has nothing left to do.
func (begun) Init() error { return nil }
