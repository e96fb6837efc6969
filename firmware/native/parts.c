// The I2C parts as the core sees them: registers, conversion times, and figures that a test can recognise.
// A converter reads 1000 * multiplexer code + gain code (the scan's 1 less); the INA226 reads bus 10800 and shunt 6200 counts.
#include "parts.h"

#define ADS_US 1163
#define INA_US 2200 // of one pair; averaged over four: 8800
#define INA_BUS 10800
#define INA_SHUNT 6200

static struct ads {
    uint16_t config;
    uint64_t ready;
    uint8_t pointer;
} contact_ads, scan_ads;
static uint64_t ina_ready;
static uint16_t latches; // of the scan's ports
static uint8_t ina_pointer;
static uint16_t dac, dac_eeprom = 0x800, disturbed, flipped;
static uint8_t dac_down;
static uint8_t dac_part = PART_MCP4725;
static enum fitted fitted;

void parts_fit(enum fitted now)
{
    fitted = now;
    latches = dac = 0;
}

bool parts_fitted(enum part part)
{
    if (part == PART_INA226) {
        return fitted != FITTED_NO_INA;
    }
    return part == PART_EVENING_ADS1115 ? fitted != FITTED_FULL : fitted == FITTED_FULL || fitted == FITTED_BOTH;
}

void parts_power_on(void)
{
    latches = 0;
}

void parts_keep(uint16_t code)
{
    dac_eeprom = code;
}

void parts_dac_at(uint8_t place)
{
    dac_part = PART_MCP4725 + place;
}

void parts_disturb(uint16_t bits)
{
    disturbed = bits & 0x3FFF;
}

void parts_flip(uint16_t bits)
{
    flipped = bits;
}

static uint16_t flip(uint16_t value)
{
    value ^= flipped;
    flipped = 0;
    return value;
}

static uint16_t word(const uint8_t *bytes)
{
    return (uint16_t)(bytes[0] << 8 | bytes[1]);
}

static uint16_t ads_register(const struct ads *ads)
{
    if (ads->pointer == 1) {
        return bench_us() < ads->ready ? ads->config & 0x7FFF : flip(ads->config | 0x8000);
    }
    return (ads->config >> 12 & 7) * 1000 + (ads->config >> 9 & 7) - (ads == &scan_ads);
}

static void ads_write(struct ads *ads, const uint8_t *out, uint8_t length)
{
    ads->pointer = out[0];
    if (length == 3 && ads->pointer == 1) {
        ads->config = word(out + 1);
        ads->ready = bench_us() + ADS_US;
    }
}

// The scan's output latches; directions are only taken.
static void ports_write_seen(const uint8_t *out, uint8_t length)
{
    if (length == 3 && out[0] == 0x14 && word(out + 1) != latches) {
        latches = word(out + 1);
        outside_ports(out[1], out[2]);
    }
}

static uint16_t ina_register(void)
{
    const uint16_t registers[] = {0x4323, INA_SHUNT, INA_BUS, 0, 0, 0, bench_us() >= ina_ready ? 8 : 0};
    bool result = ina_pointer == 1 || ina_pointer == 2;
    return result ? flip(registers[ina_pointer]) : ina_pointer < 7 ? registers[ina_pointer] : 0;
}

static void ina_write(const uint8_t *out, uint8_t length)
{
    ina_pointer = out[0];
    if (length == 3 && ina_pointer == 0) {
        ina_ready = bench_us() + INA_US * (word(out + 1) >> 9 & 7 ? 4 : 1);
    }
}

static void dac_bytes(const uint8_t *out)
{
    bool keep = out[0] >> 5 == 3;
    uint16_t taken = keep ? word(out + 1) >> 4 : word(out) ^ disturbed;
    dac = taken & 0xFFF;
    dac_down = taken >> 12 & 3;
    if (keep) {
        dac_eeprom = dac;
    }
    outside_dac(dac, keep);
}

static void answer(uint16_t value, uint8_t *in, uint8_t length)
{
    for (uint8_t i = 0; i < length; i++) {
        in[i] = i % 2 ? value & 0xFF : value >> 8;
    }
}

static void dac_answer(uint8_t *in, uint8_t length)
{
    const uint8_t all[] = {0x80 | dac_down << 1, dac >> 4, (uint8_t)(dac << 4), dac_eeprom >> 8, dac_eeprom & 0xFF};
    for (uint8_t i = 0; i < length && i < sizeof all; i++) {
        in[i] = all[i];
    }
}

bool parts_transfer(enum part part, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length)
{
    if (!parts_fitted(part)) {
        return false;
    }
    if (part >= PART_MCP4725) {
        if (part != dac_part) {
            return false;
        }
        if (out_length) {
            dac_bytes(out);
        }
        dac_answer(in, in_length);
        return true;
    }
    if (part == PART_MCP23017) {
        if (out_length) {
            ports_write_seen(out, out_length);
        }
        answer(latches, in, in_length);
        return true;
    }
    if (part == PART_INA226) {
        if (out_length) {
            ina_write(out, out_length);
        }
        answer(ina_register(), in, in_length);
        return true;
    }
    struct ads *ads = part == PART_ADS1115_SCAN ? &scan_ads : &contact_ads;
    if (out_length) {
        ads_write(ads, out, out_length);
    }
    answer(ads_register(ads), in, in_length);
    return true;
}
