/* A stand-in for a core's servo library: a pulse every 20 ms, its width what
 * it was set to when it begins. */
#pragma once

#include <stdint.h>

class Servo {
public:
    uint8_t attach(int pin, int shortest, int longest);
    bool attached();
    void writeMicroseconds(int us);

private:
    int channel = -1;
};
