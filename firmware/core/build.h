// Which build this is: full, bare or evening; and whether the parts that answer are those of one build.
// Rule: an evening board moves energy only while its own parts answer and none of the full build's does; these are asked
// before every such order. One that has ever answered since the start ends it until the next start.
#ifndef BUILD_H
#define BUILD_H

#include <stdbool.h>
#include <stdint.h>

#include "line/messages.h"

enum build build_now(void);
bool build_evening(void);

// Ask the bus; no board is evening before. An evening board stays one until it restarts.
void build_look(void);

// Whether parts of two builds have answered, or an evening board's INA226 did not when it was last asked.
bool build_faulty(void);

// RESULT_BUS where the parts that answer now do not make one build, or the bus failed amid the look. A full board is not asked again once the evening
// build's converter was silent while its own parts answered.
enum result build_admits(void);

// RESULT_BUILD where an evening board has nothing for it: other coil volts than its supply's, a clamp, other branches.
enum result build_drives(uint16_t dac, uint8_t on, uint8_t diode);
enum result build_loads(uint8_t branches);

#endif
