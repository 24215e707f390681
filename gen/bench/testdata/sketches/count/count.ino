// Counts the edges at pin 2, asleep in between, and follows a switch at pin 7
// with pin 13.
#include <avr/sleep.h>

extern "C" {
volatile uint8_t count;
volatile uint32_t last_us;
}

ISR(INT0_vect)
{
    count++;
    last_us = micros();
}

void setup()
{
    pinMode(7, INPUT_PULLUP);
    pinMode(13, OUTPUT);
    EICRA = _BV(ISC00);
    EIMSK = _BV(INT0);
}

void loop()
{
    sleep_mode();
    digitalWrite(13, digitalRead(7));
}
