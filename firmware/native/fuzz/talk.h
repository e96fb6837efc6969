// What the host says to the board.
#ifndef TALK_H
#define TALK_H

#include <stdint.h>

// What the host is about for a while: anything; one piece of work, and keeping it alive; load pulses; nothing; garbage.
enum mood { ANYTHING, WORKING, LOADING, SILENT, NOISY, MOODS };

extern struct talk_count {
    uint64_t damaged, slipped; // frames sent with a bit flipped; those of them whose CRC holds all the same
} talk_count;

void talk(enum mood mood); // one frame, or none
void talk_frame(uint8_t id); // a request of this id; 0: any frame

#endif
