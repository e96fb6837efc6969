// Holding the coil and stepping it; handlers are declared in dispatch.h.
// Rule: the DAC is set before the coil is switched on, and changed only after it is switched off. The coil supply is let
// on when the DAC has given its code back, and held at 0 for code 0. On an evening build K1 stands in the DAC's place.
#ifndef COIL_H
#define COIL_H

#include <stdint.h>

#include "../line/messages.h"

// The outputs word of a coil state, nothing loaded.
uint16_t coil_outputs(uint8_t on, uint8_t diode, uint8_t dry);

// The coil supply at this code. A DAC that does not give it back leaves the coil at a voltage nobody asked for: everything
// off, RESULT_BUS. Amid work only: an evening build's K1 is waited for.
enum result coil_supply(uint16_t code);

// Clamp and dry sources, then the supply, then the coil.
enum result coil_on(uint16_t code, uint16_t outputs, uint16_t on_ms, uint16_t limit);

#endif
