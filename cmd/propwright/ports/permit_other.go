//go:build !unix

package ports

// permit says how the user gets the right to use a port.
func permit(string) string {
	return "close other programs that use it, or ask who administers this computer"
}
