// The terminal scan: two terminals under 5 V at a few mA, and what stands at them. An evening build has 86 to 85 alone.
// Rule: everything of the scan is off when its answer goes out, and after a reset before the first request. Where the bus
// does not let it, the board says so, tries again every few ms, and moves no energy before it is.
#ifndef SCAN_H
#define SCAN_H

#include <stdbool.h>

// Find out whether this is a bare board, and put the scan of a full one to rest.
void scan_start(void);

// Whether the board is bare, asked of bus and stop again: parts that answer now make it a full one.
bool scan_bare(void);

// A full board whose bus was silent since the start asks it again; with an answer it is as after a good start.
void scan_look(void);

// Whether something of a scan may still be on though none is at work; kept through a reset.
bool scan_lost(void);

// Take it off, also from within its wait; whether nothing of it is on.
bool scan_off(void);

#endif
