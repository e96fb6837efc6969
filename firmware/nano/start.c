// The first thing after reset: outputs low, watchdog tamed, reset cause kept; before .data is even filled.
// Rule: this runs in .init3, where the stack and the zero register stand but no variable has a value yet.
#include <avr/io.h>
#include <avr/wdt.h>

#include "../hal.h"
#include "pins.h"

#define CAUSES 0x0F

static KEPT uint8_t reset_cause;
static KEPT bool causes_kept;

// A boot loader clears MCUSR; optiboot hands its value on in r2. What cannot be one counts as unknown, 0.
static void start_safe(void) __attribute__((naked, used, section(".init3")));
static void start_safe(void)
{
    uint8_t handed;
    __asm__ volatile("mov %0, r2" : "=r"(handed));
    PORTB &= (uint8_t)~OUTPUTS_B;
    DDRB |= OUTPUTS_B;
    PORTC &= (uint8_t)~OUTPUTS_C;
    DDRC |= OUTPUTS_C;
    PORTD &= (uint8_t)~OUTPUTS_D;
    DDRD |= OUTPUTS_D;
    uint8_t cause = MCUSR & CAUSES;
    causes_kept = cause != 0;
    reset_cause = cause == 0 && handed <= CAUSES ? handed : cause;
    MCUSR = 0; // or the watchdog stays on after a watchdog reset, at its shortest time
    wdt_disable();
}

bool hal_causes_kept(void)
{
    return causes_kept;
}

uint8_t hal_reset_cause(void)
{
    return reset_cause;
}
