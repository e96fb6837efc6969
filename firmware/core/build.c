// Finds the build out by the addresses that answer on the bus.
#include "build.h"

#include "../hal.h"
#include "measure/parts.h"

#define FED 4095 // the evening build's supply has no DAC: all of it, or 0
#define BRANCH_10A 4

static bool evening;
static bool own, foreign; // since the start: the evening build's converter, and any part that only a full one has
static bool sure; // the converter was silent, and others answered before and after
static bool measured = true; // the INA226, when last asked

static bool foreign_answers(void)
{
    static const FLASH uint8_t parts[] = {PART_ADS1115,     PART_ADS1115_SCAN, PART_MCP23017,    PART_MCP4725,
                                          PART_MCP4725 + 1, PART_MCP4725 + 2,  PART_MCP4725_LAST};
    for (uint8_t i = 0; i < sizeof parts && hal_bus_free(); i++) { // held: each would take 3 ms to say so
        if (part_answers(parts[i])) {
            return true;
        }
    }
    return false;
}

enum build build_now(void)
{
    return hal_bare() ? BUILD_BARE : evening ? BUILD_EVENING : BUILD_FULL;
}

bool build_evening(void)
{
    return evening;
}

void build_look(void)
{
    bool before = own || parts_any();
    own = own || part_answers(PART_EVENING_ADS1115);
    sure = !own && before && parts_any();
    if (own) {
        foreign = foreign || foreign_answers();
        measured = part_answers(PART_INA226);
        evening = evening || (!foreign && part_answers(PART_EVENING_ADS1115)); // the bus was there all the time
    }
}

bool build_faulty(void)
{
    return own && (foreign || !measured);
}

enum result build_admits(void)
{
    if (!sure) {
        build_look();
    }
    bool known = own || sure; // else the bus failed amid the look
    return known && !build_faulty() ? RESULT_DONE : RESULT_BUS;
}

enum result build_drives(uint16_t dac, uint8_t on, uint8_t diode)
{
    bool has = !diode && (dac == FED || (dac == 0 && !on));
    return evening && !has ? RESULT_BUILD : RESULT_DONE;
}

enum result build_loads(uint8_t branches)
{
    return evening && branches != BRANCH_10A ? RESULT_BUILD : RESULT_DONE;
}
