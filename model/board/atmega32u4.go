package board

// Chip: Microchip (Atmel), "ATmega16U4/ATmega32U4" data sheet, 7766 (pin
// configurations, alternate port functions, external interrupts, boot section
// sizes). Pin numbers, the light on pin 13 and the boot loader of 4096 bytes:
// the "leonardo" variant of arduino-core-avr and its boards.txt. Its numbers
// from 24 on, A6 to A11, are other names of pins that are here already.
var atmega32u4 = &Board{
	Name:       "atmega32u4",
	Usual:      "Leonardo, Micro",
	MCU:        "atmega32u4",
	Variant:    "leonardo",
	Defines:    []string{"-DUSB_VID=0x2341", "-DUSB_PID=0x8036"}, // it speaks USB and needs the device's numbers
	ClockHz:    16_000_000,
	FlashBytes: 32768,
	BootBytes:  4096,
	SRAMBytes:  2560,
	Pins: []Pin{
		{0, 'D', 2, "INT2", "", []Role{RXD, INT2}},
		{1, 'D', 3, "INT3", "", []Role{TXD, INT3}},
		{2, 'D', 1, "INT1", "", []Role{INT1, SDA}},
		{3, 'D', 0, "INT0", "OC0B", []Role{INT0, SCL}},
		{4, 'D', 4, "", "", nil},
		{5, 'C', 6, "", "OC3A", nil},
		{6, 'D', 7, "", "OC4D", nil},
		{7, 'E', 6, "INT6", "", []Role{INT6}},
		{8, 'B', 4, "PCINT4", "", nil},
		{9, 'B', 5, "PCINT5", "OC1A", nil},
		{10, 'B', 6, "PCINT6", "OC1B", nil},
		{11, 'B', 7, "PCINT7", "OC0A", nil},
		{12, 'D', 6, "", "", nil},
		{13, 'C', 7, "", "OC4A", []Role{LED}},
		{14, 'B', 3, "PCINT3", "", []Role{MISO}},
		{15, 'B', 1, "PCINT1", "", []Role{SCK}},
		{16, 'B', 2, "PCINT2", "", []Role{MOSI}},
		{17, 'B', 0, "PCINT0", "", []Role{SS}},
		{18, 'F', 7, "", "", nil},
		{19, 'F', 6, "", "", nil},
		{20, 'F', 5, "", "", nil},
		{21, 'F', 4, "", "", nil},
		{22, 'F', 1, "", "", nil},
		{23, 'F', 0, "", "", nil},
	},
	Analog: []int{18, 19, 20, 21, 22, 23, 4, 6, 8, 9, 10, 12},
	Timers: []Timer{
		{Number: 0, Bits: 8, Core: "the millisecond clock"},
		{Number: 1, Bits: 16},
		{Number: 3, Bits: 16},
		{Number: 4, Bits: 10},
	},
	UART:   1,
	USB:    true,
	Noise:  Noise{"The chip's own thermometer", []string{"ADMUX = _BV(REFS1) | _BV(REFS0) | _BV(MUX2) | _BV(MUX1) | _BV(MUX0);", "ADCSRB |= _BV(MUX5);"}},
	Upload: Upload{Programmer: "avr109", Baud: 57600, IDs: []string{"2341:0036", "2341:8036", "2a03:0036", "2a03:8036"}, Touch: true},
}
