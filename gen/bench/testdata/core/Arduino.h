/* A stand-in for the core of a 32-bit board, with the part of its functions
 * that a portable board file may use. Time is virtual; see core.cpp.
 *
 * Names and types are those of the core API that newer cores share, where pin
 * modes and levels are enumerations: github.com/arduino/ArduinoCore-API,
 * api/Common.h, api/HardwareSerial.h and api/HardwareSPI.h, 2019 and later.
 * With CORE_OF_INTEGERS they are integers, as in older cores. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef CORE_OF_INTEGERS
#define IRAM_ATTR __attribute__((section(".iram")))
#define LOW 0
#define HIGH 1
#define CHANGE 2
#define INPUT 0
#define OUTPUT 1
#define INPUT_PULLUP 2
#define MSBFIRST 1
typedef uint32_t PinStatus;
typedef uint32_t PinMode;
typedef uint8_t BitOrder;
typedef uint32_t pin_size_t;
#else
typedef enum { LOW = 0, HIGH = 1, CHANGE = 2, FALLING = 3, RISING = 4 } PinStatus;
typedef enum { INPUT = 0, OUTPUT = 1, INPUT_PULLUP = 2, INPUT_PULLDOWN = 3 } PinMode;
typedef enum { LSBFIRST = 0, MSBFIRST = 1 } BitOrder;
typedef uint8_t pin_size_t;
#endif

/* Macros that a core has and a sketch may stumble over. */
#define bit(b) (1UL << (b))
#define bitRead(value, n) (((value) >> (n)) & 0x01)
#define lowByte(w) ((uint8_t)((w) & 0xff))
#define word(...) makeWord(__VA_ARGS__)
#define SERIAL 0x0
#define DISPLAY 0x1
#define PI 3.14159265358979
typedef uint8_t byte;

extern "C" {
void pinMode(pin_size_t pin, PinMode mode);
void digitalWrite(pin_size_t pin, PinStatus level);
PinStatus digitalRead(pin_size_t pin);
int analogRead(pin_size_t pin);
unsigned long millis(void);
unsigned long micros(void);
void yield(void);
void attachInterrupt(pin_size_t number, void (*handler)(void), PinStatus mode);
void setup(void);
void loop(void);
}

#define digitalPinToInterrupt(pin) (pin)
#define NOT_AN_INTERRUPT (-1)

static const uint8_t A0 = 14;
static const uint8_t MOSI = CORE_MOSI; /* given to the compiler */

class HardwareSerial {
public:
    void begin(unsigned long baud);
    int availableForWrite();
    size_t write(uint8_t value);

private:
    uint64_t bit_cycles = 1;
    uint64_t sent = 0; /* when all bytes are */
};
extern HardwareSerial Serial1;
