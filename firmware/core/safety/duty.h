// Load duty, counted on the board: at most 10 % over any 10 s, and pulses of together 500 ms over any 750 ms.
// Rule: a pulse is refused beforehand when its longest time would exceed what is left. The second bound is for the
// hardware's own pulse limit: its capacitor needs 0.2 s of rest, or it cuts a pulse of 500 ms after 0.4 s.
#ifndef DUTY_H
#define DUTY_H

#include <stdbool.h>
#include <stdint.h>

// Once, before any load: what was loaded before a reset still counts. Where that is lost, the last second counts as
// loaded, so that no reset gives load time. After power-on it does only where the EEPROM says that the resistors were
// warm when the supply went; so nobody waits for the first load of a board that was at rest.
void duty_start(bool power_on);

// Every pass: keeps in the EEPROM whether anything was loaded in the last 10 s. Two writes for each time that is so.
void duty_keep(void);

// Every millisecond, in the interrupt.
void duty_tick(bool loaded);

// Whether limit_ms more still fit; if so a pulse begins, and its first, broken millisecond is counted.
// Call it locked.
bool duty_begin(uint16_t limit_ms);

#endif
