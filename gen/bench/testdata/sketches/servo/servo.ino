// 1500 microseconds every 20 ms at pin 9, by timer 1 alone.
void setup()
{
    DDRB = _BV(1);
    ICR1 = 39999;
    OCR1A = 2999;
    TCCR1A = _BV(COM1A1) | _BV(WGM11);
    TCCR1B = _BV(WGM13) | _BV(WGM12) | _BV(CS11);
}

void loop()
{
}
