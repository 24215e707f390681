package editor

import (
	"fmt"
	"os"
	"strings"

	"github.com/gdamore/tcell/v2"
	"github.com/gdamore/tcell/v2/terminfo"
)

// newScreen opens the terminal.
func newScreen() (tcell.Screen, error) {
	screen, err := tcell.NewConsoleScreen() // there is one on Windows only
	if err != nil {
		ti, err := terminalOf(os.Getenv("TERM"))
		if err != nil {
			return nil, err
		}
		if screen, err = tcell.NewTerminfoScreenFromTtyTerminfo(nil, ti); err != nil {
			return nil, fmt.Errorf("the editor needs a terminal: %w", err)
		}
	}
	if err := screen.Init(); err != nil {
		return nil, fmt.Errorf("the editor needs a terminal: %w", err)
	}
	for r, plain := range plainly {
		screen.RegisterRuneFallback(r, plain)
	}
	screen.EnableMouse()
	screen.EnablePaste()
	return begun{screen}, nil
}

// plainly has what is drawn in place of a character that the terminal's
// locale cannot show, as with LC_ALL=C, each on one column. Lines and corners
// are tcell's own.
var plainly = map[rune]string{
	'▁': "_", '▂': ".", '▃': ":", '▄': "-", '▅': "=", '▆': "+", '▇': "*", '█': "#", // heights
	'·': ".", '░': ":", '▒': "+", '▓': "%", // brightness
	'●': "@", '○': "o", '■': "#", '▬': "=", '•': "+", '♪': "&", '↻': "@",
	'▼': "v", '▲': "^", '▶': ">", '▸': "*", '◂': "<", '»': ">", '«': "<", '›': ">", '‹': "<",
	'…': "~", '–': "-", '—': "-", '×': "x", '¶': "|", '°': "o", '²': "2", '³': "3", 'µ': "u", 'μ': "u",
	'“': `"`, '”': `"`, '„': `"`, '‘': "'", '’': "'",
}

// terminalOf describes a terminal by its TERM. An unknown one is replaced by its shorter
// name: xterm-16color by xterm. Delays in a description were for slow serial lines, and
// are left out: they made every key take seconds.
func terminalOf(name string) (*terminfo.Terminfo, error) {
	for kin := name; kin != ""; kin = kin[:max(strings.LastIndexByte(kin, '-'), 0)] {
		if ti, err := tcell.LookupTerminfo(kin); err == nil {
			t := *ti
			t.PadChar = ""
			return &t, nil
		}
	}
	return nil, fmt.Errorf("the editor cannot draw on the terminal that TERM names, %q; in a terminal window say TERM=xterm before the command", name)
}

// begun is a screen that has been initialised. tview would do it, but would not return
// errors; doing it twice breaks a screen.
type begun struct{ tcell.Screen }

// Init has nothing left to do.
func (begun) Init() error { return nil }
