// The pins of a bare board: for every terminal one that drives it through a resistor, and one that senses it.
// Rule: at rest every one of them is low, so that no coil's current ever ends in the clamp diodes of a pin.
#include <avr/io.h>

#include "../hal.h"
#include "nano.h"
#include "pins.h"

static bool bare;

static void float_all(void)
{
#define FLOAT(line, port, bit, channel)                                                                                \
    DDR##port &= (uint8_t)~_BV(bit);                                                                                   \
    PORT##port &= (uint8_t)~_BV(bit);
    BARE_LINES(FLOAT)
}

static void all_low(void)
{
#define LOW(line, port, bit, channel)                                                                                  \
    PORT##port &= (uint8_t)~_BV(bit);                                                                                  \
    DDR##port |= _BV(bit);
    BARE_LINES(LOW)
}

void hal_bare_drive(uint8_t source, uint8_t sink, bool weak)
{
    if (source == 0 && sink == 0) {
        all_low();
        return;
    }
    float_all();
#define DRIVE(line, port, bit, channel)                                                                                \
    if (line == sink) {                                                                                                \
        DDR##port |= _BV(bit);                                                                                         \
    }                                                                                                                  \
    if (line == source) {                                                                                              \
        PORT##port |= _BV(bit);                                                                                        \
        if (!weak) {                                                                                                   \
            DDR##port |= _BV(bit);                                                                                     \
        }                                                                                                              \
    }
    BARE_LINES(DRIVE)
}

uint8_t bare_channel(uint8_t line)
{
#define CHANNEL(number, port, bit, channel)                                                                            \
    if (line == number) {                                                                                              \
        return channel;                                                                                                \
    }
    BARE_LINES(CHANNEL)
    return TEMPERATURE_CHANNEL;
}

// The dry sources' pins sense on a bare board.
static void sense_pins(bool open)
{
#define SENSE(line, port, bit, channel) | (1u << (channel))
    const uint8_t pins = (0 BARE_LINES(SENSE)) & OUTPUTS_C;
    PORTC &= (uint8_t)~pins;
    if (open) {
        DDRC &= (uint8_t)~pins;
    } else {
        DDRC |= pins;
    }
}

void hal_bare_set(bool now)
{
    if (now) {
        hal_outputs(0);
        all_low();
        sense_pins(true);
    } else if (bare) {
        float_all();
        sense_pins(false);
        outputs_start();
    }
    bare = now;
}

bool hal_bare(void)
{
    return bare;
}
