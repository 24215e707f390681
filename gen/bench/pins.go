package bench

import "strconv"

// pins gives each chip's port and bit for the core's pin numbers 0, 1, 2, …,
// "--" where the number has none.
var pins = map[string][]string{
	"atmega328p": {
		"D0", "D1", "D2", "D3", "D4", "D5", "D6", "D7",
		"B0", "B1", "B2", "B3", "B4", "B5",
		"C0", "C1", "C2", "C3", "C4", "C5",
	},
	"atmega2560": {
		"E0", "E1", "E4", "E5", "G5", "E3", "H3", "H4", "H5", "H6",
		"B4", "B5", "B6", "B7", "J1", "J0", "H1", "H0", "D3", "D2",
		"D1", "D0", "A0", "A1", "A2", "A3", "A4", "A5", "A6", "A7",
		"C7", "C6", "C5", "C4", "C3", "C2", "C1", "C0", "D7", "G2",
		"G1", "G0", "L7", "L6", "L5", "L4", "L3", "L2", "L1", "L0",
		"B3", "B2", "B1", "B0", "F0", "F1", "F2", "F3", "F4", "F5",
		"F6", "F7", "K0", "K1", "K2", "K3", "K4", "K5", "K6", "K7",
	},
	"atmega32u4": {
		"D2", "D3", "D1", "D0", "D4", "C6", "D7", "E6", "B4", "B5",
		"B6", "B7", "D6", "C7", "B3", "B1", "B2", "B0",
		"F7", "F6", "F5", "F4", "F1", "F0",
	},
}

// hostPins gives the names of the pins of Host, as many as a portable board
// has: their numbers.
func hostPins() []string {
	names := make([]string, 54)
	for i := range names {
		names[i] = strconv.Itoa(i)
	}
	return names
}
