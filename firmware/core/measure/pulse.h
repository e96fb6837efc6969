// What a load pulse is made of, for whoever loads a throw.
#ifndef PULSE_H
#define PULSE_H

#include <stdbool.h>
#include <stdint.h>

#include "../line/messages.h"

#define SHUNT_GAIN 5 // 5 mohm: 256 mV is 51 A

struct pair {
    int16_t drop, shunt;
};

// Load bits of branches through one throw.
uint16_t pulse_load(uint8_t throw, uint8_t branches);

// Whether a pulse may begin: the converter that must watch it answers. The lamp that a load lights lets the coil supply
// on: where that was held at 0, and the DAC kept a code, it is set to 0 here.
bool pulse_ready(uint16_t load);

// The guard's pulse, at once and without the bus; RESULT_STOPPED where its lamp would let on a supply that is held at 0, or
// close an evening build's K1.
enum result pulse_now(uint16_t load, uint16_t dry, uint16_t limit_ms);

// Both, one after the other, K1 of an evening build ahead of them; RESULT_BUS, and nothing is on, where no pulse may begin.
enum result pulse_begin(uint16_t load, uint16_t dry, uint16_t limit_ms);

// The load off, and what was let on for it alone.
void pulse_end(void);

// Drop of one throw, then the load shunt; the load is on.
enum result pulse_pair(uint8_t throw, uint8_t gain, struct pair *pair);

#endif
