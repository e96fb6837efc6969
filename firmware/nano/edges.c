// Contact edges on Timer1 (0.5 us): terminal 87 by input capture, terminal 87a by pin change.
// Rule: ticks count from the step, 32 bits wide by counted overflows.
#include <avr/interrupt.h>
#include <avr/io.h>

#include "../hal.h"
#include "nano.h"
#include "pins.h"

static volatile uint16_t overflows;
static uint32_t base;
static bool nc_low;

// Full time of a count read just now: an overflow not yet counted belongs to a small count.
static uint32_t full(uint16_t count)
{
    uint16_t high = overflows;
    if ((TIFR1 & _BV(TOV1)) && count < 0x8000) {
        high++;
    }
    return (uint32_t)high << 16 | count;
}

static bool no_low(void)
{
    return !(EDGE_NO_PIN & EDGE_NO_MASK);
}

// Capture the edge that leaves this level.
static void capture_from(bool low)
{
    if (low) {
        TCCR1B |= _BV(ICES1);
    } else {
        TCCR1B &= (uint8_t)~_BV(ICES1);
    }
    TIFR1 = _BV(ICF1);
}

ISR(TIMER1_OVF_vect)
{
    overflows++;
}

ISR(TIMER1_CAPT_vect)
{
    uint32_t ticks = full(ICR1) - base;
    bool closed = !(TCCR1B & _BV(ICES1));
    edge_seen(ticks, false, closed);
    capture_from(closed);
    // It bounced back before the capture was turned round; and again while that was seen to; until the log is full.
    while (no_low() != closed && !(TIFR1 & _BV(ICF1)) && TIMSK1 != 0) {
        closed = !closed;
        edge_seen(full(TCNT1) - base, false, closed);
        capture_from(closed);
    }
}

ISR(PCINT2_vect)
{
    uint16_t count = TCNT1;
    bool low = !(EDGE_NC_PIN & EDGE_NC_MASK);
    if (low != nc_low) { // else it bounced back within a few microseconds
        nc_low = low;
        edge_seen(full(count) - base, true, low);
    }
}

void edges_start(void)
{
    TCCR1A = 0;
    TCCR1B = _BV(ICNC1) | _BV(CS11); // noise canceller; 8
    PCMSK2 = _BV(PCINT23);
}

// Interrupts on; what happened before does not count.
static void listen(void)
{
    capture_from(no_low());
    nc_low = !(EDGE_NC_PIN & EDGE_NC_MASK);
    PCIFR = _BV(PCIF2);
    TIFR1 = _BV(TOV1);
    overflows = 0;
    TIMSK1 = _BV(ICIE1) | _BV(TOIE1);
    PCICR = _BV(PCIE2);
}

void hal_step_soon(void)
{
    adc_rest();
}

void hal_step(uint16_t outputs)
{
    listen();
    base = full(TCNT1);
    if (outputs & OUT_COIL) {
        COIL_SWITCH_PORT |= COIL_SWITCH_MASK;
    } else {
        COIL_SWITCH_PORT &= (uint8_t)~COIL_SWITCH_MASK;
    }
    adc_beat();
    hal_outputs(outputs);
}

void hal_edges_stop(void)
{
    TIMSK1 = 0;
    PCICR = 0;
}
