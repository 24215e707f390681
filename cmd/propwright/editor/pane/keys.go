package pane

import (
	"strings"

	"github.com/gdamore/tcell/v2"
)

// KeyName returns what the key table calls a key: "F2", "Ctrl-S", "Alt-1", "Up",
// "Enter", "+".
func KeyName(ev *tcell.EventKey) string {
	k, mod := ev.Key(), ev.Modifiers()
	name := ""
	switch {
	case k == tcell.KeyRune:
		name = string(ev.Rune())
		if ev.Rune() == ' ' {
			name = "Space"
		}
		mod &= tcell.ModAlt // a shifted letter is another letter
	case k == tcell.KeyBackspace || k == tcell.KeyBackspace2:
		return "Backspace"
	case k == tcell.KeyTab:
		name = "Tab"
	case k == tcell.KeyBacktab:
		return "Shift-Tab"
	case k == tcell.KeyEnter:
		name = "Enter"
		mod &= tcell.ModAlt
	case k == tcell.KeyEscape:
		return "Esc"
	case k == tcell.KeyDelete:
		name = "Del"
	case k == tcell.KeyInsert:
		name = "Ins"
	case k == tcell.KeyCtrlSpace:
		return "Ctrl-Space"
	case k >= tcell.KeyCtrlA && k <= tcell.KeyCtrlZ:
		return "Ctrl-" + string(rune('A'+k-tcell.KeyCtrlA))
	default:
		name = strings.TrimSpace(tcell.KeyNames[k])
	}
	switch {
	case mod&tcell.ModCtrl != 0:
		name = "Ctrl-" + name
	case mod&tcell.ModAlt != 0:
		name = "Alt-" + name
	case mod&tcell.ModShift != 0:
		name = "Shift-" + name
	}
	return name
}

// IsTyped reports whether a key is a character that a text can have.
func IsTyped(ev *tcell.EventKey) bool {
	return ev.Key() == tcell.KeyRune && ev.Modifiers()&(tcell.ModAlt|tcell.ModCtrl) == 0
}
