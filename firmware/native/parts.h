// The I2C parts as the core sees them, in simulated time; for the script and the fuzz driver.
#ifndef PARTS_H
#define PARTS_H

#include "bench.h"

// Which parts are fitted: those of the full build, of the evening build, both by mistake, or an evening build's without its
// INA226.
enum fitted { FITTED_FULL, FITTED_EVENING, FITTED_BOTH, FITTED_NO_INA, FITTED_KINDS };
void parts_fit(enum fitted fitted);
bool parts_fitted(enum part part);

// One transfer with a part that answers, if it is fitted; time has been passed.
bool parts_transfer(enum part part, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length);

// The supply was off: the scan's ports are inputs again.
void parts_power_on(void);

// What the MCP4725 keeps in its EEPROM; half of its range when it leaves its factory.
void parts_keep(uint16_t code);
// Which of its four addresses it has; 4 and more: it is not fitted.
void parts_dac_at(uint8_t place);

// From now on these bits of whatever the MCP4725 is sent arrive turned over: 12 of code, two of power-down. It acknowledges.
void parts_disturb(uint16_t bits);

// These bits of the next result of the INA226, or of the next setting that an ADS1115 gives back, are read turned over.
void parts_flip(uint16_t bits);

// Told to the outside: the DAC puts out another code, or the same; the scan's latches have changed.
void outside_dac(uint16_t code, bool kept);
void outside_ports(uint8_t a, uint8_t b);

#endif
