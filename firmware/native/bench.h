// The two sides of the native board: what hal.c gives to whoever runs the core on a PC, and what it asks of it.
// Rule: time passes only while the board sleeps or waits; so every run is the same.
#ifndef BENCH_H
#define BENCH_H

#include <stdbool.h>
#include <stdint.h>

#include "../hal.h"

#define NEVER UINT64_MAX

// --- what hal.c gives ---

uint64_t bench_us(void);
uint8_t *bench_eeprom(void);

// Time 0, no level low, the stop closed. Once, unless another board is to be begun.
void bench_begin(void);

// The chip as it comes up: nothing on, nothing begun; levels, time and EEPROM stay. Before each board_start.
void bench_power_on(uint8_t reset_cause);

// Levels from now on: bit 0 terminal 87 low, bit 1 terminal 87a low; the emergency stop.
void bench_pins(uint8_t low);
void bench_stop(bool open);

// --- what it asks of the outside; these may leave by longjmp, as a reset does ---

// When something happens out there, never before now; and let it happen. It may come earlier for another reason.
uint64_t outside_due(void);
void outside_happen(void);

// Something that the bench must never see; does not return.
void outside_broken(const char *rule);

// One conversion: the coil's current or its low end; a slow channel; a line of a bare board.
uint16_t outside_current(bool low_end);
uint16_t outside_analog(uint8_t channel);
uint16_t outside_bare_line(uint8_t line);

bool outside_waiting(void); // a byte from the host is there
uint8_t outside_byte(void);
void outside_send(uint8_t byte);

void outside_outputs(uint16_t outputs); // they have changed
void outside_bare(bool bare);
void outside_bare_drive(uint8_t source, uint8_t sink, bool weak);
void outside_eeprom(uint16_t address, uint8_t value); // has been written

bool outside_i2c(enum part part, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length);
bool outside_bus_free(void);

#endif
