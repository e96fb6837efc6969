// What the files of the native chip share: why a run ends, and the time that they count in.
#ifndef CHIP_H
#define CHIP_H

#include "../bench.h"

enum { CYCLES_A_US = 16 };
enum happening { REACHED = 1, OUTPUTS = 2, BUS_WORD = 4, CONVERSION = 8, RESTARTED = 16, HALTED = 32,
    SAID = 64 };

// Back to the host, which goes on with chip_run; only while the board runs.
void chip_leave(uint32_t happened);

// An empty bus, free.
void bus_begin(void);

// A converter without volts or noise; a new run, for which volts may have been given ahead; one conversion.
void converter_begin(void);
void converter_runs(void);
uint16_t converted(uint8_t channel);

#endif
