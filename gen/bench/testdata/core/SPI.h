/* A stand-in for a core's SPI library: sends on MOSI, receives nothing. */
#pragma once

#include <Arduino.h>

#define SPI_MODE0 0

class SPISettings {
public:
    SPISettings(uint32_t clock, BitOrder order, int mode);
    uint64_t bit_cycles;
};

class SPIClass {
public:
    void begin();
    void beginTransaction(SPISettings settings);
    void transfer(void *bytes, size_t count);
    void endTransaction();

private:
    uint64_t bit_cycles = 0; /* 0: outside of a transaction */
};
extern SPIClass SPI;
