// Drivers of the three I2C parts: MCP4725 (coil volts), ADS1115 (drop and shunt), INA226 (coil supply).
// Rule: every wait has an end; a part that does not answer is told as RESULT_BUS, and never hangs the board.
#ifndef PARTS_H
#define PARTS_H

#include <stdbool.h>
#include <stdint.h>

#include "messages.h"

// Multiplexer codes of the ADS1115 (TI SBAS444, config register bits 14..12).
enum ads_input { ADS_DROP_NO = 1, ADS_DROP_NC = 2, ADS_SHUNT = 6 }; // AIN0-AIN3, AIN1-AIN3, AIN2 to ground

bool dac_write(uint16_t code);

// The code written last.
uint16_t dac_code(void);

// DAC 0 now and after any power-up; its EEPROM is written only when it holds something else.
void dac_start(void);

// One fresh conversion at 860 samples a second, the line served meanwhile; why not, when work ended.
enum result ads_convert(enum ads_input input, uint8_t gain, int16_t *value);

// One fresh averaged conversion of bus and shunt, the same way.
enum result ina_convert(int16_t *bus, int16_t *shunt);

#endif
