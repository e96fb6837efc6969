// Registers of the parts, after their makers' data sheets.
#include "parts.h"

#include "../../hal.h"
#include "../build.h"
#include "../safety/work.h"

// TI SBAS444: registers; config bit 15 starts a conversion and reads 1 when it is over, bit 8 single shot,
// bits 7..5 = 7: 860 samples a second, bits 1..0 = 3: comparator off.
#define ADS_CONVERSION 0
#define ADS_CONFIG 1
#define ADS_START 0x8000u
#define ADS_SINGLE_860 0x01E3u
#define ADS_TIMEOUT_MS 5 // a conversion takes 1.16 ms, 10 % at most longer

// TI SBOS547: config 0x4323 = 4 averages (bits 11..9 = 1), bus and shunt 1.1 ms each (8..6 = 5..3 = 4),
// shunt and bus once (2..0 = 3): 8.8 ms; 0x4123 without averages: 2.2 ms. Mask/enable bit 3 is set when the conversion is over.
#define INA_CONFIG 0
#define INA_SHUNT 1
#define INA_BUS 2
#define INA_MASK 6
#define INA_MANY 0x4323u
#define INA_ONE 0x4123u
#define INA_READY 0x0008u
#define INA_TIMEOUT_MS 30

// Microchip DS22039: fast write; write of DAC and EEPROM; in what is read, bit 7 of byte 0 is set when the
// EEPROM is idle, and bytes 3 and 4 hold the EEPROM: bits 6..5 and 3..0 power-down and value, then value.
#define DAC_AND_EEPROM 0x60
#define DAC_IDLE 0x80
#define DAC_EEPROM_HIGH 0x6F
#define DAC_POWER_DOWN 0x06
#define DAC_READ 3 // state, and the code from the left
#define DAC_EEPROM_MS 60 // at most 50

// Microchip DS20001952, IOCON.BANK 0: directions (1 is input) and output latches, port B one address behind port A.
#define PORT_DIRECTIONS 0x00
#define PORT_LATCHES 0x14
#define DIRECTIONS 0x00C0u // GPB6 is the button, GPB7 is not wired

static enum part dac = PART_MCP4725; // the address that answered
static bool dac_found;
static uint16_t dac_code;
static bool dac_sure; // the DAC gave the code back
static bool heard;    // a part has answered since the start
static bool ports_took; // so has the MCP23017

static bool write_register(enum part part, uint8_t address, uint16_t value)
{
    const uint8_t out[] = {address, value >> 8, value & 0xFF};
    return hal_i2c(part, out, sizeof out, 0, 0);
}

static bool read_register(enum part part, uint8_t address, uint16_t *value)
{
    uint8_t in[2];
    bool answered = hal_i2c(part, &address, 1, in, sizeof in);
    *value = answered ? (uint16_t)in[0] << 8 | in[1] : 0;
    return answered;
}

static bool read_signed(enum part part, uint8_t address, int16_t *value)
{
    uint16_t raw;
    bool answered = read_register(part, address, &raw);
    *value = (int16_t)raw;
    return answered;
}

// A result that stays until the next conversion. The bus has no check of its own: one bit made a sound coil a short.
static bool read_twice(enum part part, uint8_t address, int16_t *value)
{
    int16_t again;
    return read_signed(part, address, value) && read_signed(part, address, &again) && again == *value;
}

// Wait until `mask` is set in the register, whose `value` is then read.
static enum result await_bits(enum part part, uint8_t address, uint16_t mask, uint8_t timeout_ms, uint16_t *value)
{
    uint32_t start = hal_ms();
    while (hal_ms() - start <= timeout_ms) {
        enum result state = work_pass();
        if (state != RESULT_DONE) {
            return state;
        }
        if (!read_register(part, address, value)) {
            return RESULT_BUS;
        }
        if (*value & mask) {
            return RESULT_DONE;
        }
    }
    return RESULT_BUS;
}

bool part_answers(uint8_t part)
{
    uint8_t in[1];
    return hal_i2c((enum part)part, 0, 0, in, sizeof in);
}

static bool find_dac(void)
{
    for (uint8_t part = PART_MCP4725; part <= PART_MCP4725_LAST && !dac_found; part++) {
        if (part_answers(part)) {
            dac = (enum part)part;
            dac_found = true;
        }
    }
    return dac_found;
}

static bool any_answers(void)
{
    static const FLASH uint8_t parts[] = {PART_INA226, PART_ADS1115, PART_EVENING_ADS1115, PART_ADS1115_SCAN, PART_MCP23017};
    for (uint8_t i = 0; i < sizeof parts; i++) {
        if (part_answers(parts[i])) {
            return true;
        }
        if (!hal_bus_free()) {
            return false; // held: each of the others would take 3 ms to say so too
        }
    }
    return dac_found ? part_answers(dac) : find_dac();
}

bool parts_any(void)
{
    bool any = any_answers();
    heard = heard || any;
    return any;
}

bool parts_silent(void)
{
    return !heard;
}

bool ports_write(uint8_t a, uint8_t b)
{
    bool latched = write_register(PART_MCP23017, PORT_LATCHES, (uint16_t)a << 8 | b);
    ports_took = ports_took || latched;
    return latched && write_register(PART_MCP23017, PORT_DIRECTIONS, DIRECTIONS);
}

bool ports_hold(uint8_t a, uint8_t b)
{
    uint16_t latches;
    return read_register(PART_MCP23017, PORT_LATCHES, &latches) && latches == ((uint16_t)a << 8 | b);
}

bool ports_heard(void)
{
    return ports_took;
}

static enum part fitted(enum part part)
{
    return part == PART_ADS1115 && build_evening() ? PART_EVENING_ADS1115 : part;
}

bool ads_answers(void)
{
    uint16_t config;
    return read_register(fitted(PART_ADS1115), ADS_CONFIG, &config);
}

enum result ads_convert(enum part which, enum ads_input input, uint8_t gain, int16_t *value)
{
    const enum part part = fitted(which);
    uint16_t config = ADS_START | (uint16_t)input << 12 | (uint16_t)gain << 9 | ADS_SINGLE_860;
    if (!write_register(part, ADS_CONFIG, config)) {
        return RESULT_BUS;
    }
    uint16_t done;
    enum result result = await_bits(part, ADS_CONFIG, ADS_START, ADS_TIMEOUT_MS, &done);
    if (result == RESULT_DONE && (done != config || !read_signed(part, ADS_CONVERSION, value))) {
        result = RESULT_BUS;
    }
    return result;
}

enum result ina_convert(enum ina_setting setting, int16_t *bus, int16_t *shunt)
{
    if (!write_register(PART_INA226, INA_CONFIG, setting == INA_QUICK ? INA_ONE : INA_MANY)) {
        return RESULT_BUS;
    }
    uint16_t done;
    enum result result = await_bits(PART_INA226, INA_MASK, INA_READY, INA_TIMEOUT_MS, &done);
    if (result == RESULT_DONE && !(read_twice(PART_INA226, INA_BUS, bus) && read_twice(PART_INA226, INA_SHUNT, shunt))) {
        result = RESULT_BUS;
    }
    return result;
}

bool dac_write(uint16_t code)
{
    const uint8_t out[] = {code >> 8, code & 0xFF};
    uint8_t in[DAC_READ];
    if (build_evening()) {
        return true; // there is none
    }
    dac_sure = find_dac() && hal_i2c(dac, out, sizeof out, 0, 0) && hal_i2c(dac, 0, 0, in, sizeof in) &&
               (in[0] & DAC_POWER_DOWN) == 0 && in[1] == code >> 4 && in[2] >> 4 == (code & 0xF);
    if (dac_sure) {
        dac_code = code;
    }
    return dac_sure;
}

uint8_t dac_place(void)
{
    return dac_found ? dac - PART_MCP4725 + 1 : 0;
}

bool dac_missing(void)
{
    return !dac_found && !build_evening();
}

bool dac_lost(void)
{
    return !dac_sure && !hal_bare() && !build_evening();
}

bool dac_rests(void)
{
    return dac_sure && !build_evening() ? dac_code == 0 : !dac_lost();
}

// While its EEPROM is being written the part ignores new values.
static void await_dac_idle(void)
{
    uint8_t in[1] = {0};
    uint32_t start = hal_ms();
    while (!(in[0] & DAC_IDLE) && hal_ms() - start <= DAC_EEPROM_MS) {
        hal_watchdog();
        if (!hal_i2c(dac, 0, 0, in, sizeof in)) {
            return;
        }
    }
}

void dac_start(void)
{
    const uint8_t clear[] = {DAC_AND_EEPROM, 0, 0};
    uint8_t in[5];
    if (dac_write(0) && hal_i2c(dac, 0, 0, in, sizeof in) && ((in[3] & DAC_EEPROM_HIGH) || in[4])) {
        hal_i2c(dac, clear, sizeof clear, 0, 0);
        await_dac_idle();
    }
}
