// Counts its starts in memory that a reset leaves alone, notes the reason of
// the last, and lets the watchdog bite after half a second where pin 7 is
// low.
#include <avr/wdt.h>

extern "C" {
volatile uint8_t starts __attribute__((section(".noinit")));
volatile uint8_t reason;
}

void setup()
{
    reason = MCUSR;
    MCUSR = 0;
    wdt_disable();
    starts++;
    pinMode(7, INPUT_PULLUP);
    delay(1);
    if (!digitalRead(7)) {
        wdt_enable(WDTO_500MS);
    }
}

void loop()
{
}
