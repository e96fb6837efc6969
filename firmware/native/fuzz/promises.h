// What the board promises whatever comes on the line, held against what it does.
// Rule: the promises are worked out from what came in and what went out; of the core only trip and work are asked.
#ifndef PROMISES_H
#define PROMISES_H

#include <stdbool.h>
#include <stdint.h>

#include "../parts.h"
#include "requests.h"

// The longest that was seen of each, microseconds.
extern struct longest {
    uint64_t on_without_request, over_current, pulse, watch, loaded_in_10_s, loaded_in_750_ms, dac_without_request, scan_left;
} longest;

void promises_after_reset(bool ram_kept);
uint8_t promises_newest(bool order); // number of the newest order or question that the board heard
bool promises_begun(void); // whether a host has begun with this start
void promises_heard(const struct heard *request, uint64_t came_us); // a frame with the right CRC, and when its end came
void promises_answered(uint8_t sequence, uint8_t id, uint8_t result); // id without its upper bit
void promises_outputs(uint16_t outputs);
void promises_current(uint16_t counts);
void promises_fitted(enum fitted fitted); // from the next start on
void promises_stop(bool open);
void promises_pins(void); // one of the contacts' moves
void promises_dac(uint16_t code);
#define SCAN_RESTS 0x88 // port A; port B is 0 then
void promises_scan(uint8_t a, uint8_t b);
void promises_bus(bool obeys, bool ports_obey, bool dac_obeys);

// Every millisecond, and whenever something has changed.
void promises_kept(void);

#endif
