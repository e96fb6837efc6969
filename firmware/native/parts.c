// The three I2C parts as the core sees them: registers, conversion times, and figures that a test can recognise.
// A drop or shunt reads 1000 * multiplexer code + gain code; the INA226 reads bus 10800 and shunt 6200 counts.
#include <stdio.h>

#include "../hal.h"
#include "bench.h"

#define ADS_US 1163
#define INA_US 8800
#define INA_BUS 10800
#define INA_SHUNT 6200

static uint16_t ads_config;
static uint64_t ads_ready, ina_ready;
static uint8_t ads_pointer, ina_pointer;
static uint16_t dac, dac_eeprom = 0x800;

void parts_keep(uint16_t code)
{
    dac_eeprom = code;
}

static uint16_t word(const uint8_t *bytes)
{
    return (uint16_t)(bytes[0] << 8 | bytes[1]);
}

static uint16_t ads_register(void)
{
    if (ads_pointer == 1) {
        return (ads_config & 0x7FFF) | (bench_us() >= ads_ready ? 0x8000 : 0);
    }
    return (ads_config >> 12 & 7) * 1000 + (ads_config >> 9 & 7);
}

static void ads_write(const uint8_t *out, uint8_t length)
{
    ads_pointer = out[0];
    if (length == 3 && ads_pointer == 1) {
        ads_config = word(out + 1);
        ads_ready = bench_us() + ADS_US;
    }
}

static uint16_t ina_register(void)
{
    const uint16_t registers[] = {0x4323, INA_SHUNT, INA_BUS, 0, 0, 0, bench_us() >= ina_ready ? 8 : 0};
    return ina_pointer < 7 ? registers[ina_pointer] : 0;
}

static void ina_write(const uint8_t *out, uint8_t length)
{
    ina_pointer = out[0];
    if (length == 3 && ina_pointer == 0) {
        ina_ready = bench_us() + INA_US;
    }
}

static void dac_bytes(const uint8_t *out, uint8_t length)
{
    bool keep = out[0] >> 5 == 3;
    dac = keep ? word(out + 1) >> 4 : word(out) & 0xFFF;
    if (keep) {
        dac_eeprom = dac;
    }
    (void)length;
    printf("%llu %s %u\n", (unsigned long long)bench_us(), keep ? "dac_keep" : "dac", dac);
}

static void answer(uint16_t value, uint8_t *in, uint8_t length)
{
    for (uint8_t i = 0; i < length; i++) {
        in[i] = i % 2 ? value & 0xFF : value >> 8;
    }
}

static void dac_answer(uint8_t *in, uint8_t length)
{
    const uint8_t all[] = {0x80, dac >> 4, (uint8_t)(dac << 4), dac_eeprom >> 8, dac_eeprom & 0xFF};
    for (uint8_t i = 0; i < length && i < sizeof all; i++) {
        in[i] = all[i];
    }
}

bool parts_transfer(uint8_t part, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length)
{
    if (part == PART_MCP4725) {
        if (out_length) {
            dac_bytes(out, out_length);
        }
        dac_answer(in, in_length);
        return true;
    }
    if (out_length) {
        (part == PART_ADS1115 ? ads_write : ina_write)(out, out_length);
    }
    answer(part == PART_ADS1115 ? ads_register() : ina_register(), in, in_length);
    return true;
}
