// Drivers of the I2C parts: MCP4725 (coil volts), ADS1115 (drop and shunt; another for the scan), INA226 (coil supply),
// MCP23017 (scan). PART_ADS1115 is the contacts' converter at the address of whichever build this is.
// Rule: every wait has an end; a part that does not answer is reported as RESULT_BUS, and never hangs the board.
#ifndef PARTS_H
#define PARTS_H

#include <stdbool.h>
#include <stdint.h>

#include "../../hal.h"
#include "../line/messages.h"

// Multiplexer codes of the ADS1115 (TI SBAS444, config register bits 14..12).
enum ads_input {
    // PART_ADS1115
    ADS_DROP_NO = 1, // AIN0-AIN3
    ADS_DROP_NC = 2, // AIN1-AIN3
    ADS_SHUNT = 6,   // AIN2 to ground
    // PART_ADS1115_SCAN
    ADS_DRIVEN = 1, // AIN0-AIN3
    ADS_SUNK = 5,   // AIN1 to ground
    ADS_LOOK = 6,   // AIN2 to ground
    ADS_SUPPLY = 7, // AIN3 to ground
};

// Whether this one answers now.
bool part_answers(uint8_t part);

// Whether any does.
bool parts_any(void);

// Whether none has been seen to answer since the start.
bool parts_silent(void);

// Set the DAC, at whichever address it answers; false when it does not give the code back: it may hold anything then.
bool dac_write(uint16_t code);

// At which of its four addresses the DAC answered, from 1; 0: at none since the start.
uint8_t dac_place(void);

// Whether the DAC may hold anything: it did not take its last code, or never answered. A bare or an evening board has none
// to lose.
bool dac_lost(void);

// Whether it has not answered at any of its addresses since the start.
bool dac_missing(void);

// Whether the coil supply is at 0: given back so, or there is no DAC by which it could be anything while it is held.
bool dac_rests(void);

// DAC 0 now and after any power-up; its EEPROM is written only when it holds something else.
void dac_start(void);

// Whether the ADS1115 of the contacts answers now.
bool ads_answers(void);

// One fresh conversion at 860 samples a second, the line served meanwhile; why not, when work ended.
enum result ads_convert(enum part part, enum ads_input input, uint8_t gain, int16_t *value);

// One fresh conversion of bus and shunt, the same way: averaged, or 2.2 ms.
enum ina_setting { INA_AVERAGED, INA_QUICK };
enum result ina_convert(enum ina_setting setting, int16_t *bus, int16_t *shunt);

// Both output ports of the MCP23017, its pins made outputs but for the button's.
bool ports_write(uint8_t a, uint8_t b);

// Whether its latches give that back; and whether it has taken anything since the start.
bool ports_hold(uint8_t a, uint8_t b);
bool ports_heard(void);

#endif
