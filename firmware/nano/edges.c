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

// Ticks since the step. An edge from while the step was being made, before its time was taken, is at 0.
static uint32_t since_step(uint32_t time)
{
    uint32_t ticks = time - base;
    return (int32_t)ticks < 0 ? 0 : ticks;
}

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

// The chip takes edges before samples, and those of 87a before the millisecond: without end they would keep out both.
static void guard_first(void)
{
    clock_overtake();
    adc_overtake();
}

ISR(TIMER1_OVF_vect)
{
    overflows++;
}

ISR(TIMER1_CAPT_vect)
{
    bool closed = !(TCCR1B & _BV(ICES1));
    edge_seen(since_step(full(ICR1)), false, closed);
    capture_from(closed);
    // It bounced back before the capture was turned round; and again while that was seen to; until the log is full.
    while (no_low() != closed && !(TIFR1 & _BV(ICF1)) && TIMSK1 != 0) {
        closed = !closed;
        edge_seen(since_step(full(TCNT1)), false, closed);
        capture_from(closed);
        guard_first();
    }
    guard_first();
}

ISR(PCINT2_vect)
{
    uint16_t count = TCNT1;
    bool low = !(EDGE_NC_PIN & EDGE_NC_MASK);
    if (low != nc_low) { // else it bounced back within a few microseconds
        nc_low = low;
        edge_seen(since_step(full(count)), true, low);
    }
    guard_first();
}

void edges_start(void)
{
    TCCR1A = 0;
    TCCR1B = _BV(ICNC1) | _BV(CS11); // noise canceller; 8
    PCMSK2 = _BV(PCINT23);
}

// Interrupts on; what happened before does not count. Flags are cleared before levels are read: an edge between the two
// is in the level, and one after it raises its flag again. A capture waits for one level: it is turned until both agree.
static void listen(void)
{
    bool low;
    overflows = 0;
    TIMSK1 = _BV(ICIE1) | _BV(TOIE1);
    PCICR = _BV(PCIE2);
    TIFR1 = _BV(TOV1);
    PCIFR = _BV(PCIF2);
    nc_low = !(EDGE_NC_PIN & EDGE_NC_MASK);
    do {
        low = no_low();
        capture_from(low);
    } while (no_low() != low && !(TIFR1 & _BV(ICF1)));
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

// The flags of both interrupts are raised though the interrupts are off; each is taken down only where it was seen.
uint8_t hal_pins_moved(void)
{
    static uint8_t last;
    uint8_t now = hal_pins_low(), moved = now ^ last;
    last = now;
    if (TIMSK1 == 0) {
        uint8_t no = TIFR1 & _BV(ICF1), nc = PCIFR & _BV(PCIF2);
        TIFR1 = no;
        PCIFR = nc;
        moved |= (no ? 1 : 0) | (nc ? 2 : 0);
    }
    return moved;
}

void hal_edges_stop(void)
{
    TIMSK1 = 0;
    PCICR = 0;
}
