//go:build !unix

package ports

// May reports whether a port is there and the user may use it, which is not known here
// before it is opened.
func May(string) error { return nil }

// permit says how the user gets the right to use a port.
func permit(string) string {
	return "close other programs that use it, or ask who administers this computer"
}
