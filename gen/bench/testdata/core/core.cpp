/* The core's stand-in at work: it runs a sketch on this computer, in virtual
 * time, on the same leash as the simulated chip.
 *
 *   sketch PINS WATCHES
 *
 * Arguments, input and output are those of runner.c, but that a pin is named
 * by its number and a watch's address is this computer's; u and r are not
 * known. A cycle is 62.5 ns as there. Only passes of the loop and the SPI port
 * take time: what it shows is what a board file does, not how fast a chip is. */
#include <Arduino.h>
#include <SPI.h>
#include <Servo.h>
#include <algorithm>
#include <cinttypes>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <map>
#include <vector>

static const uint64_t MICROSECOND = 16;
static const uint64_t PASS = 20 * MICROSECOND; /* of the loop */
static const uint64_t FRAME = 20000 * MICROSECOND;
static const uint64_t BOOT = 3217 * 1000 * MICROSECOND; /* what the core's clocks show at power-up */
static const uint64_t NEVER = UINT64_MAX;

static uint64_t now;

[[noreturn]] static void die(const char *what, const char *which)
{
    fprintf(stderr, "stand-in: %s: %s\n", what, which);
    exit(2);
}

/* What is reported. */

static uint64_t reported;

static void put_varint(uint64_t v)
{
    for (; v >= 0x80; v >>= 7) {
        putchar((int)(v & 0x7f) | 0x80);
    }
    putchar((int)v);
}

static void put_record(int tag)
{
    putchar(tag);
    put_varint(now - reported);
    reported = now;
}

/* Pins. */

struct Line {
    int index = -1; /* in PINS */
    PinMode mode = INPUT;
    bool written = false;
    bool outside = false; /* whether the outside drives it, and to what */
    bool driven = false;
    bool level = false;
    void (*handler)() = nullptr;
};
static std::map<int, Line> lines;

/* The level may have changed: tell who wants to know. */
static void settle(Line &l)
{
    bool level = l.mode == OUTPUT ? l.written : l.outside ? l.driven : l.mode == INPUT_PULLUP;
    if (level == l.level) {
        return;
    }
    l.level = level;
    if (l.index >= 0) {
        put_record(l.index * 2 + level);
    }
    if (l.handler != nullptr) {
        l.handler();
    }
}

void pinMode(pin_size_t pin, PinMode mode)
{
    lines[pin].mode = mode;
    settle(lines[pin]);
}

void digitalWrite(pin_size_t pin, PinStatus level)
{
    lines[pin].written = level == HIGH;
    settle(lines[pin]);
}

PinStatus digitalRead(pin_size_t pin)
{
    return lines[pin].level ? HIGH : LOW;
}

void attachInterrupt(pin_size_t number, void (*handler)(void), PinStatus mode)
{
    if (mode != CHANGE) {
        die("attachInterrupt", "not at every change");
    }
    lines[number].handler = handler;
}

int analogRead(pin_size_t pin)
{
    static uint32_t noise = 12345;
    noise = noise * 1103515245U + 12345U + pin;
    return (int)(noise >> 22);
}

/* Servos. */

struct Channel {
    int pin;
    int us;
    uint64_t ends;
};
static std::vector<Channel> channels;
static uint64_t next_frame = 0;

uint8_t Servo::attach(int pin, int shortest, int longest)
{
    if (shortest > 544 || longest < 2400) {
        die("attach", "a narrower range than the usual");
    }
    channel = (int)channels.size();
    channels.push_back({pin, 1500, NEVER});
    pinMode((pin_size_t)pin, OUTPUT);
    return (uint8_t)channel;
}

bool Servo::attached()
{
    return channel >= 0;
}

void Servo::writeMicroseconds(int us)
{
    if (channel < 0) {
        die("writeMicroseconds", "before attach");
    }
    channels[(size_t)channel].us = us;
}

/* Time. */

struct Stimulus {
    uint64_t when;
    int pin;
    int level; /* -1: let go */
};
static std::vector<Stimulus> stimuli; /* in order of time */

static void apply(const Stimulus &s)
{
    Line &l = lines[s.pin];
    l.outside = s.level >= 0;
    l.driven = s.level == 1;
    settle(l);
}

/* Let time pass; what falls due on the way happens, interrupts among it. */
static void pass(uint64_t cycles)
{
    uint64_t until = now + cycles;
    for (;;) {
        uint64_t next = next_frame;
        for (const Channel &c : channels) {
            next = std::min(next, c.ends);
        }
        if (!stimuli.empty()) {
            next = std::min(next, stimuli.front().when);
        }
        if (next > until) {
            break;
        }
        now = std::max(now, next);
        while (!stimuli.empty() && stimuli.front().when <= now) {
            Stimulus s = stimuli.front();
            stimuli.erase(stimuli.begin());
            apply(s);
        }
        for (Channel &c : channels) {
            if (c.ends <= now) {
                c.ends = NEVER;
                digitalWrite((pin_size_t)c.pin, LOW);
            }
        }
        if (next_frame <= now) {
            next_frame += FRAME;
            for (Channel &c : channels) {
                c.ends = now + (uint64_t)c.us * MICROSECOND;
                digitalWrite((pin_size_t)c.pin, HIGH);
            }
        }
    }
    now = until;
}

unsigned long micros(void)
{
    return (unsigned long)(uint32_t)((BOOT + now) / MICROSECOND);
}

unsigned long millis(void)
{
    return (unsigned long)(uint32_t)((BOOT + now) / (1000 * MICROSECOND));
}

void yield(void)
{
}

/* Serial1: one byte is being sent, another may wait. */

HardwareSerial Serial1;

void HardwareSerial::begin(unsigned long baud)
{
    bit_cycles = 1000000 * MICROSECOND / baud;
}

int HardwareSerial::availableForWrite()
{
    return sent <= now + 10 * bit_cycles ? 1 : 0;
}

size_t HardwareSerial::write(uint8_t value)
{
    if (availableForWrite() == 0) {
        die("Serial1.write", "would wait");
    }
    put_record(0x80);
    putchar(value);
    put_varint(bit_cycles);
    sent = std::max(sent, now) + 10 * bit_cycles;
    return 1;
}

/* SPI. */

SPIClass SPI;

SPISettings::SPISettings(uint32_t clock, BitOrder order, int mode)
    : bit_cycles((1000000 * MICROSECOND + clock - 1) / clock)
{
    if (order != MSBFIRST || mode != SPI_MODE0) {
        die("SPISettings", "not MSBFIRST, SPI_MODE0");
    }
}

void SPIClass::begin()
{
    pinMode(MOSI, OUTPUT);
}

void SPIClass::beginTransaction(SPISettings settings)
{
    bit_cycles = settings.bit_cycles;
}

void SPIClass::transfer(void *bytes, size_t count)
{
    if (bit_cycles == 0) {
        die("SPI.transfer", "outside of a transaction");
    }
    uint8_t *b = static_cast<uint8_t *>(bytes);
    for (size_t i = 0; i < count; i++) {
        for (int n = 7; n >= 0; n--) {
            digitalWrite(MOSI, (b[i] >> n & 1) != 0 ? HIGH : LOW);
            pass(bit_cycles);
        }
        b[i] = 0; /* received in its place */
    }
}

void SPIClass::endTransaction()
{
    bit_cycles = 0;
}

/* Watches. */

struct Watch {
    const uint8_t *address;
    size_t size;
    uint64_t last;
};
static std::vector<Watch> watches;

static void look()
{
    for (size_t i = 0; i < watches.size(); i++) {
        Watch &w = watches[i];
        uint64_t value = 0;
        memcpy(&value, w.address, w.size); /* this computer has its lowest byte first, too */
        if (value != w.last) {
            w.last = value;
            put_record(0x81);
            putchar((int)i);
            put_varint(value);
        }
    }
}

static void run(uint64_t until)
{
    static bool began = false;
    if (!began) {
        began = true;
        pass(0);
        setup();
    }
    while (now < until) {
        loop();
        look();
        pass(PASS);
    }
    put_record(0x82);
    putchar(2);
    put_varint(0); /* no stack pointer */
    put_varint(0); /* never asleep */
    fflush(stdout);
}

int main(int argc, char **argv)
{
    if (argc != 3) {
        die("usage", "sketch PINS WATCHES");
    }
    int count = 0;
    for (char *s = strtok(argv[1], ","); s != nullptr && *s != '-'; s = strtok(nullptr, ",")) {
        lines[atoi(s)].index = count++;
    }
    for (char *s = strtok(argv[2], ","); s != nullptr && *s != '-'; s = strtok(nullptr, ",")) {
        uintptr_t address;
        size_t size;
        if (sscanf(s, "%" SCNuPTR ":%zu", &address, &size) != 2 || size > sizeof(uint64_t)) {
            die("not a watch", s);
        }
        watches.push_back({reinterpret_cast<const uint8_t *>(address), size, 0});
    }
    char line[128];
    while (fgets(line, sizeof line, stdin) != nullptr) {
        char kind = 0;
        Stimulus s = {0, 0, -1};
        int fields = sscanf(line, "%c %" SCNu64 " %d %d", &kind, &s.when, &s.pin, &s.level);
        if (kind == 'g' && fields == 2) {
            run(s.when);
        } else if ((kind == 'p' && fields == 4) || (kind == 'z' && fields == 3)) {
            auto later = [](const Stimulus &a, const Stimulus &b) { return a.when < b.when; };
            stimuli.insert(std::upper_bound(stimuli.begin(), stimuli.end(), s, later), s);
        } else {
            die("not a command", line);
        }
    }
    return 0;
}
