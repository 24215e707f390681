/* The player's servos under a random load: moves, time, stalls and overwritten
 * memory from the standard input, the pulse widths of every frame that is sent to
 * the standard output, and WORKED after each order. */
#include "player.c"

uint8_t pw_state; /* of the machine, which has no part in this */

#include <stdio.h>

#define WORKED 0xFFFFU

typedef struct {
    uint8_t order; /* 0 move, 1 let time pass, 2 stall, 3 overwrite */
    uint8_t servo;
    uint8_t what; /* the move's ease, or what is overwritten */
    uint8_t passes; /* of the loop in a frame, after a stall */
    uint32_t value; /* to | frames << 16, milliseconds, or what it is overwritten with */
} order;

static const uint8_t shapes[] = {PW_CUE_LINEAR, PW_CUE_SMOOTH, PW_CUE_IN, PW_CUE_OUT};
static uint16_t widths[PW_SERVOS];
static bool sent = true; /* the plan that was made last */
static bool begun;       /* the frame that begins at rest has been sent */

/* An interrupt asks for a frame only between two calls of the player. */
void board_hold(bool on)
{
    (void)on;
}

bool board_servos_free(void)
{
    return sent;
}

void board_servo(uint8_t servo, uint16_t width)
{
    widths[servo] = width;
}

void board_servos_ready(void)
{
    if (begun) {
        fwrite(widths, sizeof widths, 1, stdout);
    }
    sent = false;
}

/* The frame that was begun is worked out and sent. */
static void finish(void)
{
    for (int n = 0; n < 2 * PW_SERVOS; n++) {
        sent = true;
        player_work();
    }
    sent = true;
}

static void overwrite(const order *o)
{
    move *m = &moves[o->servo];
    uint16_t word = (uint16_t)o->value;
    switch (o->what) {
    case 0: m->at = (int32_t)o->value; break;
    case 1: m->speed = (int16_t)o->value; break;
    case 2: m->from = word; break;
    case 3: m->to = word; break;
    case 4: m->frame = word; break;
    case 5: m->frames = word; break;
    case 6: m->shape = (uint8_t)word; break;
    case 7: m->plan = (int32_t)o->value; break;
    case 8: m->check = word; break;
    default: next_servo = (uint8_t)word; break;
    }
}

int main(void)
{
    order o;
    player_start(1);
    finish();
    begun = true;
    while (fread(&o, sizeof o, 1, stdin) == 1) {
        const uint16_t worked = WORKED;
        switch (o.order) {
        case 0:
            start_move(o.servo, shapes[o.what], (uint16_t)o.value, (uint16_t)(o.value >> 16));
            break;
        case 1:
            for (uint32_t t = 0; t < o.value; t++) {
                player_tick();
                finish();
            }
            break;
        case 2: /* frames are sent all the same; then each pass makes one of the steps that were missed */
            for (uint32_t t = 20; t < o.value; t += 20) {
                player_late();
                sent = true;
            }
            for (uint32_t t = 0; t < o.value; t++) {
                sent = sent || t % o.passes == 0;
                player_tick();
                player_work();
            }
            finish();
            break;
        default:
            overwrite(&o);
            break;
        }
        fwrite(&worked, sizeof worked, 1, stdout);
    }
    return 0;
}
