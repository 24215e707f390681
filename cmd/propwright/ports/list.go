//go:build !darwin

package ports

import "go.bug.st/serial/enumerator"

// List lists the serial ports with their USB IDs.
func List() []Port {
	details, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return nil // then a name can still be written
	}
	var all []Port
	for _, d := range details {
		p := Port{Name: d.Name}
		if d.IsUSB {
			p.ID = d.VID + ":" + d.PID
		}
		all = append(all, p)
	}
	return all
}
