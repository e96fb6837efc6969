// The bench around the native board: time, what happens at which time, and what the board did.
// Rule: time passes only while the board sleeps or waits for a part; so every run is the same.
#ifndef BENCH_H
#define BENCH_H

#include <stdbool.h>
#include <stdint.h>

enum happening { HAPPEN_RECEIVE, HAPPEN_STOP, HAPPEN_PINS, HAPPEN_CURRENT, HAPPEN_PARTS, HAPPEN_LOW_END };

// One line of the script. `value`: level, pin bits, ADC counts, or whether the parts answer; bytes for RECEIVE.
struct event {
    uint64_t us;
    enum happening what;
    uint32_t value;
    uint8_t *bytes;
    uint32_t length;
};

void bench_start(struct event *events, uint32_t count);
uint64_t bench_us(void);
uint8_t *bench_eeprom(void);

// What the MCP4725 keeps in its EEPROM; half of its range when it leaves its factory.
void parts_keep(uint16_t code);

// The parts on the bus; time is passed by the caller.
bool parts_transfer(uint8_t part, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length);

#endif
