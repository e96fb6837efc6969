// Holding the coil and stepping it; handlers are declared in dispatch.h.
// Rule: the DAC is set before the coil is switched on, and changed only after it is switched off.
#ifndef COIL_H
#define COIL_H

#include <stdint.h>

// The outputs word of a coil state, nothing loaded.
uint16_t coil_outputs(uint8_t on, uint8_t diode, uint8_t dry);

#endif
