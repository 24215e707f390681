// Package ports knows which serial ports there are, on which of them a board is,
// and why one cannot be opened.
//
// It refuses to know what is sent.
package ports

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"go.bug.st/serial"

	"propwright/model/board"
)

// A Port is a serial port. Only one of USB has an ID.
type Port struct {
	Name string // "/dev/ttyACM0"
	ID   string // vendor and product, "2341:0043"; ""
}

// Names lists the serial ports that there are.
func Names() []string {
	names, err := serial.GetPortsList()
	if err != nil {
		return nil // then a name can still be written
	}
	return names
}

// There lists the serial ports in a sentence.
func There() string {
	if names := Names(); len(names) > 0 {
		return "Serial ports that are there now: " + strings.Join(names, ", ")
	}
	return "No serial port is there now."
}

// converters are USB chips that many boards have instead of one with an ID of
// its own: common practice, no published source.
var converters = []string{"1a86:7523", "1a86:55d4", "0403:6001", "0403:6015", "10c4:ea60"}

// Fitting returns the names of the ports on which a board may be: those with the board's
// ID, else those of a usual USB converter.
func Fitting(b *board.Board, there []Port) (names []string) {
	for _, ids := range [][]string{b.Upload.IDs, converters} {
		for _, p := range there {
			if slices.Contains(ids, strings.ToLower(p.ID)) {
				names = append(names, p.Name)
			}
		}
		if names != nil {
			break
		}
	}
	return names
}

// Of chooses the port of a board: the only one that is Fitting.
func Of(b *board.Board, there []Port) (string, error) {
	switch fit := Fitting(b, there); len(fit) {
	case 0:
		return "", fmt.Errorf("no %s was found on USB: connect it with a cable that carries data, or say with --port where it is. %s", b.Name, There())
	case 1:
		return fit[0], nil
	default:
		return "", fmt.Errorf("several boards are there: say which one with --port, %s", strings.Join(fit, " or "))
	}
}

// Open opens a serial port. The error says what to do where it may not be
// opened, and names the ports that there are.
func Open(name string, baud int) (serial.Port, error) {
	port, err := serial.Open(name, &serial.Mode{BaudRate: baud})
	var fault *serial.PortError
	switch {
	case err == nil:
		return port, nil
	case errors.As(err, &fault) && fault.Code() == serial.PermissionDenied:
		return nil, denied(name)
	case errors.As(err, &fault) && fault.Code() == serial.PortBusy:
		return nil, fmt.Errorf("the port %s is in use: close the program that has it open", name)
	}
	return nil, missing(name, err)
}

func missing(name string, err error) error {
	return fmt.Errorf("the port %s cannot be opened: %w. %s", name, err, There())
}

func denied(name string) error {
	return fmt.Errorf("you may not use the port %s: %s", name, permit(name))
}
