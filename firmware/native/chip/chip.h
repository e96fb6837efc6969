// What the two files of the native chip share: why a run ends, and the time that they count in.
#ifndef CHIP_H
#define CHIP_H

#include "../bench.h"

enum { CYCLES_A_US = 16 };
enum happening { REACHED = 1, OUTPUTS = 2, BUS_WORD = 4, CONVERSION = 8, RESTARTED = 16, HALTED = 32 };

// Back to the host, which goes on with chip_run; only while the board runs.
void chip_leave(uint32_t happened);

// An empty bus, free.
void bus_begin(void);

#endif
