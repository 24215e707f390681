/* A simulated chip on a leash: runs a program on libsimavr, puts levels on
 * pins and bytes on the UART at given cycles, and reports what the program
 * does, each with its cycle.
 *
 *   runner PROGRAM MCU HZ STEP PINS WATCHES
 *
 * PROGRAM an ELF file, or an Intel HEX file
 * PINS    ports and bits, such as D2,B5: their edges are reported, in this
 *         order from 0; "-" for none
 * WATCHES data addresses and sizes, such as 256:1,300:4: their values are
 *         reported when they change; "-" for none
 * STEP    cycles between two looks at the watches; an edge is not bound to it
 *
 * Standard input takes lines; cycles are absolute and must not lie in the past:
 *   p CYCLE PORTBIT LEVEL   the outside drives a pin to a level (0 or 1)
 *   z CYCLE PORTBIT         the outside lets go of a pin
 *   u CYCLE BYTE            a byte has arrived at the UART
 *   i CYCLE ADDRESS HOW     an I2C device does not answer (0), does (1), or holds the clock (2)
 *   r CYCLE FLAGS           the chip is reset, with these bits in MCUSR
 *   g CYCLE                 run until then, report, and say how it ended
 *
 * Standard output gives records in order of time: a tag byte, the cycles
 * since the record before as a varint (low 7 bits first), and
 *   0x00..0x7f  an edge: pin index * 2 + level
 *   0x80        a byte was given to the UART: byte, varint cycles per bit
 *   0x81        a watch: index byte, varint value
 *   0x82        g has ended: simavr's cpu state byte, varint lowest stack pointer,
 *               varint cycles asleep so far
 *   0x83        simavr's complaint: varint length, text
 *   0x84        on the I2C bus: what byte (0 start and address, 1 data, 2 stop;
 *               +0x80 if acknowledged), value byte
 */
#include <simavr/avr_adc.h>
#include <simavr/avr_extint.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_timer.h>
#include <simavr/avr_twi.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>
#include <simavr/sim_hex.h>
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PINS 64
#define WATCHES 32
#define PORTS 12 /* A to L */

static avr_t *avr;

/* What is reported. */

static avr_cycle_count_t reported; /* the cycle of the last record */

static void put_varint(uint64_t v)
{
    for (; v >= 0x80; v >>= 7) {
        putchar_unlocked((int)(v & 0x7f) | 0x80);
    }
    putchar_unlocked((int)v);
}

static void put_record(int tag)
{
    putchar_unlocked(tag);
    put_varint(avr->cycle - reported);
    reported = avr->cycle;
}

static void complain(avr_t *a, const int level, const char *format, va_list args)
{
    char text[512];
    (void)a;
    if (level > LOG_ERROR) {
        return;
    }
    int n = vsnprintf(text, sizeof text, format, args);
    if (n <= 0 || avr == NULL) {
        vfprintf(stderr, format, args);
        return;
    }
    if ((size_t)n >= sizeof text) {
        n = sizeof text - 1;
    }
    put_record(0x83);
    put_varint((uint64_t)n);
    fwrite(text, 1, (size_t)n, stdout);
}

static void die(const char *what, const char *which)
{
    fprintf(stderr, "runner: %s: %s\n", what, which);
    exit(2);
}

/* Pins. */

static struct pin {
    char port;
    int bit, index, level;
} pins[PINS];
static int pin_count;

static avr_ioport_external_t driven[PORTS]; /* by the outside */

static int drive_again; /* after a reset the outside takes up the pins again, which is not an edge */

static void on_edge(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct pin *p = param;
    int level = value & 1;
    (void)irq;
    if (level != p->level && !drive_again) {
        p->level = level;
        put_record(p->index * 2 + level);
    }
}

static avr_irq_t *pin_irq(char port, int bit)
{
    avr_irq_t *irq = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ(port), bit);
    if (irq == NULL) {
        char name[] = {port, (char)('0' + bit), 0};
        die("the chip has no pin", name);
    }
    return irq;
}

static void parse_pin(const char *s, char *port, int *bit)
{
    if (s[0] < 'A' || s[0] >= 'A' + PORTS || s[1] < '0' || s[1] > '7' || s[2] != 0) {
        die("not a port and a bit", s);
    }
    *port = s[0];
    *bit = s[1] - '0';
}

static void record_pins(char *list)
{
    for (char *s = strtok(list, ","); s != NULL && *s != '-'; s = strtok(NULL, ",")) {
        if (pin_count == PINS) {
            die("too many pins", s);
        }
        struct pin *p = &pins[pin_count];
        parse_pin(s, &p->port, &p->bit);
        p->index = pin_count++;
        avr_irq_register_notify(pin_irq(p->port, p->bit), on_edge, p);
    }
}

static void drive(char port, int bit, int level)
{
    avr_ioport_external_t *e = &driven[port - 'A'];
    e->name = (unsigned char)port & 0x7f;
    e->mask |= 1UL << bit;
    if (level) {
        e->value |= 1UL << bit;
    } else {
        e->value &= ~(1UL << bit);
    }
    avr_ioctl(avr, AVR_IOCTL_IOPORT_SET_EXTERNAL(port), e);
    avr_raise_irq(pin_irq(port, bit), (uint32_t)level);
}

/* A pin that nobody drives goes where its pull-up takes it, or stays. */
static void let_go(char port, int bit)
{
    avr_ioport_external_t *e = &driven[port - 'A'];
    avr_ioport_state_t state;
    e->name = (unsigned char)port & 0x7f;
    e->mask &= ~(1UL << bit);
    e->value &= ~(1UL << bit);
    avr_ioctl(avr, AVR_IOCTL_IOPORT_SET_EXTERNAL(port), e);
    if (avr_ioctl(avr, AVR_IOCTL_IOPORT_GETSTATE(port), &state) >= 0 && (state.port >> bit & 1) && !(state.ddr >> bit & 1)) {
        avr_raise_irq(pin_irq(port, bit), 1);
    }
}

/* The UART: the first one the chip has. */

static struct {
    char name;
    uint16_t ucsra, ubrrl, ubrrh;
    avr_cycle_count_t sent; /* when the last byte is */
} uart;

static void on_byte(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    (void)param;
    uint32_t ubrr = avr->data[uart.ubrrl] | (avr->data[uart.ubrrh] & 0x0fU) << 8;
    uint32_t per_step = avr->data[uart.ucsra] & 2 ? 8 : 16; /* U2X */
    put_record(0x80);
    putchar_unlocked((int)(value & 0xff));
    put_varint((ubrr + 1) * per_step);
    uart.sent = avr->cycle + 10 * (ubrr + 1) * per_step;
}

/* UDREn is set after a reset, and a program cannot clear it ("ATmega328P data
 * sheet", DS40002061B, section UCSRnA); simavr 1.6 clears it on a reset and
 * when UCSRnA or UCSRnB is written. */
static void uart_ready(void)
{
    avr->data[uart.ucsra] |= 1 << 5;
}

static void on_status(struct avr_t *a, avr_io_addr_t address, uint8_t value, void *param)
{
    (void)value;
    (void)param;
    if (address == uart.ucsra) { /* simavr 1.6 sees U2Xn only when UBRRn is written */
        avr_io_addr_t io = AVR_DATA_TO_IO(uart.ubrrl);
        a->io[io].w.c(a, uart.ubrrl, a->data[uart.ubrrl], a->io[io].w.param);
    }
    if (a->cycle >= uart.sent) {
        uart_ready();
    }
}

static void record_uart(const char *mcu)
{
    int second = strcmp(mcu, "atmega32u4") == 0; /* it has UART 1 only */
    uart.name = second ? '1' : '0';
    uart.ucsra = second ? 0xc8 : 0xc0;
    uart.ubrrl = second ? 0xcc : 0xc4;
    uart.ubrrh = second ? 0xcd : 0xc5;
    avr_irq_t *out = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ(uart.name), UART_IRQ_OUTPUT);
    if (out == NULL) {
        die("no UART", mcu);
    }
    avr_irq_register_notify(out, on_byte, NULL);
    uint32_t flags = 0; /* no printing, no sleeping in real time */
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS(uart.name), &flags);
    avr_register_io_write(avr, uart.ucsra, on_status, NULL);
    avr_register_io_write(avr, uart.ucsra + 1, on_status, NULL); /* UCSRnB */
    uart_ready();
}

/* The I2C bus, of which simavr has transactions only: the pins do not move. simavr
 * 1.6 has a byte done after 9 us, whatever TWBR says; here it takes its time. For an
 * address it tells the status of a byte, 0x28 or 0x30; here it is that of an address, 0x18
 * or 0x20 ("ATmega328P data sheet", DS40002061B, section Master Transmitter Mode). */

enum { NOBODY, ANSWERS, HOLDS };
static uint8_t devices[128]; /* by their addresses */
static avr_twi_t *twi;
static int held; /* a device holds the clock: no byte is ever done */
static int addressed; /* the byte on the bus is an address */

static void put_twi(int what, int value, int acknowledged)
{
    put_record(0x84);
    putchar_unlocked(what | (acknowledged ? 0x80 : 0));
    putchar_unlocked(value);
}

static void on_twi(struct avr_irq_t *irq, uint32_t value, void *param)
{
    avr_twi_msg_irq_t m = {.u.v = value};
    uint8_t address = m.u.twi.addr >> 1;
    int answers = devices[address] == ANSWERS;
    (void)irq;
    (void)param;
    if (m.u.twi.msg & TWI_COND_STOP) {
        put_twi(2, 0, 0);
        return;
    }
    held = devices[address] == HOLDS;
    addressed = (m.u.twi.msg & TWI_COND_START) != 0;
    if (!held) {
        put_twi(m.u.twi.msg & TWI_COND_START ? 0 : 1, m.u.twi.msg & TWI_COND_START ? m.u.twi.addr : m.u.twi.data, answers);
    }
    avr_raise_irq(twi->io.irq + TWI_IRQ_INPUT, avr_twi_irq_msg(TWI_COND_ACK, m.u.twi.addr, (uint8_t)answers));
}

static avr_cycle_count_t on_twi_done(struct avr_t *a, avr_cycle_count_t when, void *param)
{
    (void)when;
    (void)param;
    if (avr_regbit_get(a, twi->twen)) {
        avr_regbit_set(a, twi->twi.enable);
        avr_raise_interrupt(a, &twi->twi);
    }
    return 0;
}

/* The status is set before the interrupt is raised, which then has to wait. A program
 * without the interrupt, which looks at TWINT itself, has simavr's times. */
static void on_twi_status(struct avr_irq_t *irq, uint32_t value, void *param)
{
    unsigned bit = 16 + 2 * avr->data[twi->r_twbr]; /* the prescaler is 1 */
    unsigned bits = value == 0x08 || value == 0x10 ? 1 : 9; /* a start */
    unsigned passed = bits == 9 ? 9 * 16 : 0;
    (void)irq;
    (void)param;
    if (value == 0xF8 || !avr_regbit_get(avr, twi->twi.enable)) { /* nothing is to be told */
        return;
    }
    if (addressed && bits == 9) {
        avr_regbit_setto_raw(avr, twi->twsr, value == 0x28 ? 0x18 : 0x20);
        addressed = 0;
    }
    avr_regbit_clear(avr, twi->twi.enable);
    if (!held) {
        avr_cycle_timer_register(avr, bits * bit > passed ? bits * bit - passed : 1, on_twi_done, NULL);
    }
}

static void record_twi(void)
{
    for (avr_io_t *io = avr->io_port; io != NULL; io = io->next) {
        if (strcmp(io->kind, "twi") == 0) {
            twi = (avr_twi_t *)io;
            avr_irq_register_notify(io->irq + TWI_IRQ_OUTPUT, on_twi, NULL);
            avr_irq_register_notify(io->irq + TWI_IRQ_STATUS, on_twi_status, NULL);
        }
    }
}

/* What happens while its interrupt is off is remembered until that is on ("ATmega328P
 * data sheet", DS40002061B, section Reset and Interrupt Handling); simavr 1.6 forgets
 * it. The firmware turns those of timer 1 off and on. */
static avr_timer_t *timer1;

static void on_mask(struct avr_t *a, avr_io_addr_t address, uint8_t value, void *param)
{
    (void)param;
    a->data[address] = value;
    for (int i = 0; i < AVR_TIMER_COMP_COUNT; i++) {
        avr_int_vector_t *v = &timer1->comp[i].interrupt;
        if (v->vector != 0 && avr_regbit_get(a, v->enable) && avr_regbit_get(a, v->raised)) {
            avr_raise_interrupt(a, v);
        }
    }
}

/* A one written to a flag of an interrupt forgets it, a zero leaves it ("ATmega328P data
 * sheet", DS40002061B, sections TIFR0, TIFR1, PCIFR and EIFR); simavr 1.6 has a write to one of
 * the timers' forget all of its flags, and to the others none that waits. */
static void on_flags(struct avr_t *a, avr_io_addr_t address, uint8_t value, void *param)
{
    (void)param;
    for (int i = 0; i < a->interrupts.vector_count; i++) {
        avr_int_vector_t *v = a->interrupts.vector[i];
        if (v->raised.reg == address && (value >> v->raised.bit & 1)) {
            avr_clear_interrupt(a, v);
        }
    }
}

static void record_flags(void)
{
    static const avr_io_addr_t registers[] = {0x35, 0x36, 0x3b, 0x3c}; /* of all three chips */
    for (size_t i = 0; i < sizeof registers / sizeof registers[0]; i++) {
        avr->io[AVR_DATA_TO_IO(registers[i])].w.c = on_flags; /* in the place of simavr's */
    }
}

/* The chip's own thermometer, where it has one, at 25 degrees Celsius ("ATmega328P data
 * sheet", DS40002061B, section "Temperature Measurement"). */
static void warm(void)
{
    avr_irq_t *irq = avr_io_getirq(avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_TEMP);
    if (irq != NULL) {
        avr_raise_irq(irq, 314); /* mV */
    }
}

static void record_timer(void)
{
    for (avr_io_t *io = avr->io_port; io != NULL; io = io->next) {
        if (strcmp(io->kind, "timer") == 0 && ((avr_timer_t *)io)->name == '1') {
            timer1 = (avr_timer_t *)io;
            avr_register_io_write(avr, timer1->comp[0].interrupt.enable.reg, on_mask, NULL);
        }
    }
}

/* Watches. */

static struct watch {
    unsigned address, size;
    uint64_t last, mask; /* as the bytes lie in memory, and which of eight are the variable's */
} watches[WATCHES];
static int watch_count;

static void record_watches(char *list)
{
    for (char *s = strtok(list, ","); s != NULL && *s != '-'; s = strtok(NULL, ",")) {
        struct watch *w = &watches[watch_count];
        if (watch_count == WATCHES || sscanf(s, "%u:%u", &w->address, &w->size) != 2 ||
            w->size < 1 || w->size > sizeof w->last || w->address + sizeof w->last > avr->ramend + 1U) {
            die("not a watch", s);
        }
        memset(&w->mask, 0xff, w->size);
        watch_count++;
    }
}

static void report_watch(int i)
{
    struct watch *w = &watches[i];
    uint64_t value = 0;
    for (unsigned b = w->size; b-- > 0;) {
        value = value << 8 | avr->data[w->address + b];
    }
    put_record(0x81);
    putchar_unlocked(i);
    put_varint(value);
}

static void look(void)
{
    for (int i = 0; i < watch_count; i++) {
        struct watch *w = &watches[i];
        uint64_t now;
        memcpy(&now, avr->data + w->address, sizeof now); /* a load, which is faster than memcmp */
        if ((now & w->mask) != w->last) {
            w->last = now & w->mask;
            report_watch(i);
        }
    }
}

/* Stimuli, in order of time; those before next_stimulus are done. */

static struct stimulus {
    avr_cycle_count_t when;
    char kind, port;
    int bit, value;
} *stimuli;
static size_t stimulus_count, stimulus_room, next_stimulus;

static void add_stimulus(struct stimulus s)
{
    if (stimulus_count == stimulus_room) {
        stimulus_room = stimulus_room ? 2 * stimulus_room : 1024;
        stimuli = realloc(stimuli, stimulus_room * sizeof *stimuli);
        if (stimuli == NULL) {
            die("out of memory", "stimuli");
        }
    }
    size_t i = stimulus_count++;
    for (; i > next_stimulus && stimuli[i - 1].when > s.when; i--) {
        stimuli[i] = stimuli[i - 1];
    }
    stimuli[i] = s;
}

static void apply(const struct stimulus *s)
{
    switch (s->kind) {
    case 'p':
        drive(s->port, s->bit, s->value);
        break;
    case 'z':
        let_go(s->port, s->bit);
        break;
    case 'u':
        avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ(uart.name), UART_IRQ_INPUT), (uint32_t)s->value);
        break;
    case 'i':
        devices[s->bit & 0x7f] = (uint8_t)s->value;
        held = 0;
        break;
    case 'r':
        avr_reset(avr);
        uart_ready();
        avr->data[0x54] = (uint8_t)s->value; /* MCUSR */
        break;
    }
}

/* A cycle timer makes simavr stop at the right cycle, asleep or not. It comes again
 * in every cycle until the next one is armed: a chip that falls asleep in the very
 * cycle would otherwise sleep on past it. */

static avr_cycle_count_t until;
static avr_cycle_count_t armed; /* the cycle the timer is set to; 0: none */

static avr_cycle_count_t on_until(struct avr_t *a, avr_cycle_count_t when, void *param)
{
    (void)a;
    (void)param;
    return when + 1;
}

static avr_cycle_count_t next_event(void)
{
    if (next_stimulus < stimulus_count && stimuli[next_stimulus].when < until) {
        return stimuli[next_stimulus].when;
    }
    return until;
}

/* An external interrupt is set to a low level after a reset, enabled or not, and
 * simavr then looks at its pin in every cycle in which that is low. No firmware here
 * asks for levels. A reset turns it on again. */
static void ignore_levels(void)
{
    for (int i = 0; i < EXTINT_COUNT; i++) {
        avr_extint_set_strict_lvl_trig(avr, (uint8_t)i, 0);
    }
}

static void drive_all(void)
{
    ignore_levels();
    for (int p = 0; p < PORTS; p++) {
        for (int bit = 0; bit < 8; bit++) {
            if (driven[p].mask >> bit & 1) {
                int level = driven[p].value >> bit & 1;
                drive((char)('A' + p), bit, !level); /* or simavr sees no change */
                drive((char)('A' + p), bit, level);
            }
        }
    }
    drive_again = 0;
}

static uint64_t slept; /* cycles */

/* The lowest address the stack pointer has had, at the looks. */
static unsigned lowest_stack = 0xFFFF;

static void look_at_stack(void)
{
    unsigned pointer = avr->data[R_SPL] | (unsigned)avr->data[R_SPH] << 8;
    if (pointer < lowest_stack) {
        lowest_stack = pointer;
    }
}

static void run_until(void)
{
    while (avr->state != cpu_Done && avr->state != cpu_Crashed) {
        if (drive_again) {
            drive_all();
        }
        while (next_stimulus < stimulus_count && stimuli[next_stimulus].when <= avr->cycle) {
            apply(&stimuli[next_stimulus++]);
        }
        if (avr->cycle >= until) {
            break;
        }
        avr_cycle_count_t next = next_event();
        if (next != armed) {
            avr_cycle_timer_cancel(avr, on_until, NULL);
            avr_cycle_timer_register(avr, next - avr->cycle, on_until, NULL);
            armed = next;
        }
        avr_run(avr);
        look();
        look_at_stack();
    }
    put_record(0x82);
    putchar_unlocked(avr->state);
    put_varint(lowest_stack);
    put_varint(slept);
    fflush(stdout);
}

/* A reset, also by the watchdog, clears all cycle timers, and the levels of
 * pins that the outside goes on driving. */
static void (*chip_reset)(struct avr_t *a);

static void on_reset(avr_t *a)
{
    armed = 0;
    drive_again = 1;
    if (chip_reset != NULL) {
        chip_reset(a);
    }
}

/* The instruction does nothing where SE in SMCR is 0 ("ATmega328P data sheet",
 * DS40002061B, section SMCR); simavr 1.6 sleeps. No firmware here means to try that. */
static void no_sleep(avr_t *a, avr_cycle_count_t how_long)
{
    if ((a->data[0x53] & 1) == 0) {
        die("the program goes to sleep without", "SE");
    }
    slept += how_long + 1; /* simavr's avr_callback_run_raw */
}

static void serve(void)
{
    char line[128];
    while (fgets(line, sizeof line, stdin) != NULL) {
        struct stimulus s = {0};
        char name[8] = "";
        int fields = sscanf(line, "%c %" SCNu64, &s.kind, &s.when);
        if (fields != 2 || s.when < avr->cycle) {
            die("not a cycle to come", line);
        }
        if (s.kind == 'g') {
            until = s.when;
            run_until();
            continue;
        }
        if (s.kind == 'p' && sscanf(line, "p %*u %7s %d", name, &s.value) == 2) {
            parse_pin(name, &s.port, &s.bit);
        } else if (s.kind == 'z' && sscanf(line, "z %*u %7s", name) == 1) {
            parse_pin(name, &s.port, &s.bit);
        } else if (s.kind == 'i' && sscanf(line, "i %*u %d %d", &s.bit, &s.value) == 2) {
            /* complete */
        } else if (strchr("ur", s.kind) == NULL || sscanf(line, "%*c %*u %d", &s.value) != 1) {
            die("not a command", line);
        }
        add_stimulus(s);
    }
}

/* Puts the file's program into the chip. */
static void load(const char *file)
{
    elf_firmware_t firmware = {0};
    ihex_chunk_p chunks = NULL;
    FILE *f = fopen(file, "r");
    int first = f != NULL ? fgetc(f) : EOF;
    if (f != NULL) {
        fclose(f);
    }
    if (first != ':') {
        if (elf_read_firmware(file, &firmware) != 0) {
            die("cannot read", file);
        }
        avr_load_firmware(avr, &firmware);
        return;
    }
    int count = read_ihex_chunks(file, &chunks);
    if (count <= 0) {
        die("cannot read", file);
    }
    for (int i = 0; i < count; i++) {
        if (chunks[i].baseaddr + chunks[i].size > avr->flashend + 1) {
            die("more than the chip's flash holds", file);
        }
        avr_loadcode(avr, chunks[i].data, chunks[i].size, chunks[i].baseaddr);
    }
    avr->codeend = avr->flashend;
}

int main(int argc, char **argv)
{
    if (argc != 7) {
        die("usage", "runner PROGRAM MCU HZ STEP PINS WATCHES");
    }
    avr_global_logger_set(complain);
    avr_t *made = avr_make_mcu_by_name(argv[2]);
    if (made == NULL) {
        die("no such chip", argv[2]);
    }
    avr_init(made);
    avr = made;
    load(argv[1]);
    avr->frequency = (uint32_t)strtoul(argv[3], NULL, 10);
    avr->run_cycle_limit = (avr_cycle_count_t)strtoul(argv[4], NULL, 10);
    avr->sleep = no_sleep;
    chip_reset = avr->reset;
    avr->reset = on_reset;
    avr->log = LOG_ERROR;
    ignore_levels();
    record_pins(argv[5]);
    record_watches(argv[6]);
    record_uart(argv[2]);
    record_twi();
    record_timer();
    record_flags();
    warm();
    serve();
    return 0;
}
