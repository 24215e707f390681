package board

// Chip: Microchip, "ATmega48A/PA/88A/PA/168A/PA/328/P" data sheet, DS40002061
// (pin configurations, alternate port functions, pin change interrupts, boot
// section sizes). Pin numbers, the light on pin 13 and the boot loader of 512
// bytes: the "standard" variant of arduino-core-avr and its boards.txt.
var atmega328p = &Board{
	Name:       "atmega328p",
	Usual:      "Uno, Nano",
	MCU:        "atmega328p",
	Variant:    "standard",
	ClockHz:    16_000_000,
	FlashBytes: 32768,
	BootBytes:  512,
	SRAMBytes:  2048,
	Pins: []Pin{
		{0, 'D', 0, "PCINT16", "", []Role{RXD}},
		{1, 'D', 1, "PCINT17", "", []Role{TXD}},
		{2, 'D', 2, "PCINT18", "", []Role{INT0}},
		{3, 'D', 3, "PCINT19", "OC2B", []Role{INT1}},
		{4, 'D', 4, "PCINT20", "", nil},
		{5, 'D', 5, "PCINT21", "OC0B", nil},
		{6, 'D', 6, "PCINT22", "OC0A", nil},
		{7, 'D', 7, "PCINT23", "", nil},
		{8, 'B', 0, "PCINT0", "", nil},
		{9, 'B', 1, "PCINT1", "OC1A", nil},
		{10, 'B', 2, "PCINT2", "OC1B", []Role{SS}},
		{11, 'B', 3, "PCINT3", "OC2A", []Role{MOSI}},
		{12, 'B', 4, "PCINT4", "", []Role{MISO}},
		{13, 'B', 5, "PCINT5", "", []Role{SCK, LED}},
		{14, 'C', 0, "PCINT8", "", nil},
		{15, 'C', 1, "PCINT9", "", nil},
		{16, 'C', 2, "PCINT10", "", nil},
		{17, 'C', 3, "PCINT11", "", nil},
		{18, 'C', 4, "PCINT12", "", []Role{SDA}},
		{19, 'C', 5, "PCINT13", "", []Role{SCL}},
	},
	Analog: []int{14, 15, 16, 17, 18, 19, 20, 21},
	Timers: []Timer{
		{Number: 0, Bits: 8, Core: "the millisecond clock"},
		{Number: 1, Bits: 16},
		{Number: 2, Bits: 8},
	},
	Noise:  Noise{"The chip's own thermometer", []string{"ADMUX = _BV(REFS1) | _BV(REFS0) | _BV(MUX3);"}},
	Upload: Upload{Programmer: "arduino", Baud: 115200, IDs: []string{"2341:0043", "2341:0001", "2a03:0043", "2341:0243", "2341:006a"}},
}
