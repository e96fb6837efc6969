// Output pins, contact pins and the emergency stop.
// Rule: every pin is written by one instruction that touches no other pin (sbi, cbi).
#include <avr/interrupt.h>
#include <avr/io.h>

#include "../hal.h"
#include "nano.h"
#include "pins.h"

#define WRITE(pin, on)                                                                                                 \
    do {                                                                                                               \
        if (on) {                                                                                                      \
            pin##_PORT |= pin##_MASK;                                                                                  \
        } else {                                                                                                       \
            pin##_PORT &= (uint8_t)~pin##_MASK;                                                                        \
        }                                                                                                              \
    } while (0)

#define LATCHED(pin, bit) ((pin##_PORT & pin##_MASK) ? (bit) : 0u)

#define BRANCH(n) (1u << (OUT_BRANCH_SHIFT + (n)))
#define THROW(n) (1u << (OUT_THROW_SHIFT + (n)))
#define DRY(n) (1u << (OUT_DRY_SHIFT + (n)))

// Every output with its bit in the word, the coil first: its edge is tick 0 of a step.
#define OUTPUTS(X)                                                                                                     \
    X(COIL_SWITCH, OUT_COIL)                                                                                           \
    X(BRANCH_1A, BRANCH(0))                                                                                            \
    X(BRANCH_5A, BRANCH(1))                                                                                            \
    X(BRANCH_10A, BRANCH(2))                                                                                           \
    X(BRANCH_20A, BRANCH(3))                                                                                           \
    X(THROW_NO, THROW(0))                                                                                              \
    X(THROW_NC, THROW(1))                                                                                              \
    X(CLAMP_DIODE, OUT_DIODE)                                                                                          \
    X(DRY_NO, DRY(0))                                                                                                  \
    X(DRY_NC, DRY(1))                                                                                                  \
    X(LAMP, OUT_LAMP)

void hal_outputs(uint16_t outputs)
{
    if (hal_bare()) {
        return;
    }
#define WRITE_OUTPUT(pin, bit) WRITE(pin, outputs & (bit));
    OUTPUTS(WRITE_OUTPUT)
}

uint16_t hal_outputs_now(void)
{
    uint16_t outputs = 0;
    if (hal_bare()) {
        return 0;
    }
#define READ_OUTPUT(pin, bit) outputs |= LATCHED(pin, bit);
    OUTPUTS(READ_OUTPUT)
    return outputs;
}

bool hal_coil_on(void)
{
    return COIL_SWITCH_PORT & COIL_SWITCH_MASK;
}

uint8_t hal_pins_low(void)
{
    return (EDGE_NO_PIN & EDGE_NO_MASK ? 0 : 1) | (EDGE_NC_PIN & EDGE_NC_MASK ? 0 : 2);
}

bool hal_stop_open(void)
{
    return (STOP_PIN & STOP_MASK) && !hal_bare();
}

bool hal_stop_closed(void)
{
    return !(STOP_PIN & STOP_MASK);
}

void outputs_start(void)
{
    PORTB &= (uint8_t)~OUTPUTS_B;
    DDRB |= OUTPUTS_B;
    // the edge pins keep their own pull-ups off: behind 27 kohm a closed contact would not read low
}

void pins_start(void)
{
    outputs_start();
    STOP_PORT |= STOP_MASK; // pull-up: an open pin reads high, stopped
    EICRA = _BV(ISC01) | _BV(ISC00); // rising edge: the stop opens
    EIFR = _BV(INTF0); // the change of sense may have raised it
    EIMSK = _BV(INT0);
}

ISR(INT0_vect)
{
    if (!hal_bare()) {
        stop_opened();
    }
}
