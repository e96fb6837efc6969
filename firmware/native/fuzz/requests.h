// Requests made by chance from the schema, damage done to their frames, and a decoder of its own to know what was sent.
// Rule: nothing of core/ is used here but the tables that are generated from wire.yaml.
#ifndef REQUESTS_H
#define REQUESTS_H

#include <stdbool.h>
#include <stdint.h>

#include "../../core/line/messages.h"

#define MOST_ENCODED 512

// The number of the board's start, which a host gets in greet; wrong while the board starts.
extern uint32_t this_start;

// Whether most requests from now on are such as an evening build has parts for.
void requests_suit_evening(bool evening);

struct heard {
    uint8_t sequence, id;
    bool order;       // of the schema, and of its length: its number counts as heard
    bool well_formed; // a message of the schema, of its length, every field in its range
    union request fields;
};

// A frame of message `id` with fields by chance, mostly in range.
uint32_t request_frame(uint8_t id, uint8_t *encoded);

// The last status once more, as a line may say it.
uint32_t old_status(uint8_t *encoded);

// A message by chance; with a wrong id or length now and then.
uint32_t any_frame(uint8_t *encoded);

// Damage of some kind; returns the length now. `slipped`: it is a whole frame still, and another than it was.
uint32_t damaged(uint8_t *encoded, uint32_t length, bool *slipped);

// The stream that the board takes: true when this byte completes a frame with the right CRC.
bool heard(uint8_t byte, struct heard *request);
void heard_nothing_yet(void);

// The same for what the board sends: id has its upper bit; `result` is the first byte of the content.
bool answered(uint8_t byte, uint8_t *sequence, uint8_t *id, uint8_t *result);
void answered_nothing_yet(void);

#endif
