// Three pixels on pin 8, three times: a one is high for 14 cycles, a zero for
// 6, and then low for no longer than the loop takes, but 9 after a zero.
static void send(uint8_t b)
{
    for (uint8_t i = 0; i < 8; i++, b <<= 1) {
        if (b & 0x80) {
            PORTB = 1;
            __builtin_avr_delay_cycles(13);
            PORTB = 0;
        } else {
            PORTB = 1;
            __builtin_avr_delay_cycles(5);
            PORTB = 0;
            __builtin_avr_delay_cycles(9);
        }
    }
}

void setup()
{
    static const uint8_t grb[] = {0x34, 0x12, 0x56, 0xff, 0x00, 0x80, 0x00, 0x01, 0xfe};
    cli();
    DDRB = 1;
    for (uint8_t n = 0; n < 3; n++) {
        for (uint8_t i = 0; i < sizeof grb; i++) {
            send(grb[i]);
        }
        delayMicroseconds(300);
    }
}

void loop()
{
}
