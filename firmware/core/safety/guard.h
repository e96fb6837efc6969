// The guard keeps every promise of safety: lease, on-times, over-current, load pulses, emergency stop, trips.
// Rule: nothing but the guard drives outputs, and it can turn them off in an interrupt, without the I2C bus.
//
// A trip turns everything off and stays latched until acknowledged; the first reason is kept.
// The coil or a load left without lease, or left on when its on-time is over, is a trip. The dry sources alone
// (5 mA) go off at the same moments, but trip nothing: a bench that waits for the next part is not in trouble. Nor does
// the coil supply alone, which the lamp's pin holds at 0 from then on, whether or not the bus gets a zero to the DAC.
#ifndef GUARD_H
#define GUARD_H

#include <stdbool.h>
#include <stdint.h>

#include "../line/messages.h"

enum trip guard_tripped(void);

// A request that is no copy came, at most so long ago: the lease runs again from then.
void guard_renew(uint16_t waited_ms);

// Whether the lease is over, something on or not.
bool guard_lapsed(void);

// Whether the coil supply is let on, for its own sake and not by the coil or a load.
bool guard_supplied(void);

// Drive coil, diode and dry sources for at most on_ms; false, and nothing done, while tripped. A load that runs stays.
bool guard_drive(uint16_t outputs, uint16_t on_ms, uint16_t limit);

// The same, as the step from which edges and samples are counted.
bool guard_step(uint16_t outputs, uint16_t on_ms, uint16_t limit);

// Load one throw for at most limit_ms, dry sources as said; DUTY when it could exceed what duty.h allows.
// Afterwards, however it ends, the coil stays and the dry sources return to what they were.
enum result guard_pulse(uint16_t load, uint16_t dry, uint16_t limit_ms);
void guard_pulse_end(void);

// Let the coil supply follow its DAC, or hold it at 0 as soon as nothing else keeps the lamp lit; what ends the other
// outputs holds it at 0 too. Nothing is done while tripped.
void guard_supply(bool on);

// The same for an evening build's K1 alone, for at least so many ms; false while tripped. And ms since the lamp was lit,
// 255 at most.
bool guard_feed(uint16_t ms);
uint8_t guard_lit_ms(void);

// An evening build's look at the coil, K1 open: a few mA through the coil's switch for at most 100 ms, with a limit of
// 33 mA for what else may feed it. False, and nothing done, while tripped.
bool guard_look(void);

void guard_all_off(void);

// Clear the trip; false while the emergency stop is open.
bool guard_acknowledge(void);

#endif
