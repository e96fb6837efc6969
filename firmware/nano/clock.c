// The millisecond (Timer2), interrupt locks, sleep and the watchdog.
//
// Interrupts do not nest; of those that wait the chip takes the lowest vector first (ATmega328P data sheet, vectors):
//   INT0 emergency stop, PCINT2 edge of 87a, TIMER2 the guard's millisecond, TIMER1 edge of 87 and its overflow,
//   TIMER0 sampling and over-current, USART. Measured in the emulator, 29 November 2026: the millisecond 18.5 us,
//   sampling 9.4 us, an edge of 87a 21 us, each at most.
// So edges could stop the millisecond and the sampling for good. Every edge lets both overtake: then they are late by one
// edge, and too much current is cut after 1.0 ms with edges every 1 to 25 us. Edges are listened to during a step only,
// and no more when 40 are logged or 0.1 ms after its window: 2 ms, in which the line is not heard. Blinks of 87a, over
// before the interrupt looks, do not fill the log; of these the line was not heard for 10 ms. Should time stand still all
// the same, hal_watchdog ends it.
//
// The watchdog is the second line: where the tick dies just before it would have ended the lease, outputs go off one
// period later. Of that period the data sheet gives a typical figure and no limit: 16384 cycles of an oscillator of 128 kHz,
// 125 ms at 5 V. So nothing later than 500 ms is sure by the data sheet when both fail; but 800 ms, which the tests hold
// for two faults at once, are kept by any oscillator down to 54 kHz, 0.42 of its typical frequency. The longest that the
// main loop did not feed it in the emulator is 39 ms (29 November 2026): a bare board whose bus is held as it is greeted.
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/wdt.h>

#include "../hal.h"
#include "nano.h"

static volatile uint32_t ms;

static void tick(void)
{
    ms++;
    ticked();
}

ISR(TIMER2_COMPA_vect)
{
    tick();
}

void clock_overtake(void)
{
    if (TIFR2 & _BV(OCF2A)) {
        TIFR2 = _BV(OCF2A);
        tick();
    }
}

void clock_start(void)
{
    TCCR2A = _BV(WGM21); // clear at compare
    OCR2A = F_CPU / 64 / 1000 - 1;
    TCCR2B = _BV(CS22); // 64
    TIMSK2 = _BV(OCIE2A);
    set_sleep_mode(SLEEP_MODE_IDLE);
    wdt_enable(WDTO_120MS);
}

uint32_t hal_ms(void)
{
    uint8_t before = hal_lock();
    uint32_t now = ms;
    hal_unlock(before);
    return now;
}

uint8_t hal_lock(void)
{
    uint8_t before = SREG;
    cli(); // a barrier to the compiler, as avr-libc has it
    return before;
}

void hal_unlock(uint8_t before)
{
    __asm__ volatile("" ::: "memory"); // an assignment to SREG is none
    SREG = before;
}

void hal_watchdog(void)
{
    static uint8_t seen;
    uint8_t now = (uint8_t)ms; // one byte: no lock
    if (now != seen) { // the main loop runs, and so does the tick that counts for the guard
        seen = now;
        wdt_reset();
    }
}

void hal_sleep(void)
{
    cli();
    if (!uart_waiting()) {
        sleep_enable();
        sei(); // takes effect after the next instruction: no interrupt is missed
        sleep_cpu();
        sleep_disable();
    }
    sei();
}
