// What a load pulse is made of, for whoever loads a throw.
#ifndef PULSE_H
#define PULSE_H

#include <stdint.h>

#include "../line/messages.h"

#define SHUNT_GAIN 5 // 5 mohm: 256 mV is 51 A

struct pair {
    int16_t drop, shunt;
};

// Load bits of branches through one throw.
uint16_t pulse_load(uint8_t throw, uint8_t branches);

// The guard's pulse, when the converter that must watch it answers. The lamp that a load lights lets the coil supply
// on: where that was held at 0, and the DAC kept a code, it is set to 0 first. Else RESULT_BUS, and nothing is on.
enum result pulse_begin(uint16_t load, uint16_t dry, uint16_t limit_ms);

// Drop of one throw, then the load shunt; the load is on.
enum result pulse_pair(uint8_t throw, uint8_t gain, struct pair *pair);

#endif
