package ports

// List lists the serial ports. Their USB IDs are not known: the library needs
// cgo for them here, and propwright is built without.
func List() []Port {
	var all []Port
	for _, name := range Names() {
		all = append(all, Port{Name: name})
	}
	return all
}
