// The line between host and board: bytes wait with the moment at which they came, and every answer must have been asked for.
#ifndef LINE_H
#define LINE_H

#include <stdint.h>

// Frames that were sent whatever they are, those that were heard whole, and those of them that are messages.
extern struct line_count {
    uint64_t frames, valid, well_formed, answers;
} line_count;

void line_begin(void); // nothing is on its way
void line_deliver(const uint8_t *bytes, uint32_t length);
uint32_t line_waiting(void);

#endif
