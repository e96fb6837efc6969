// I2C at 400 kHz by polling; every wait has an end, and a stuck bus is freed by nine clocks.
// Rule: nothing here may be called in an interrupt, and no safety waits for it.
#include <avr/io.h>
#include <util/delay.h>
#include <util/twi.h>

#include "../hal.h"
#include "nano.h"
#include "pins.h"

#define BUS_HZ 400000ul
#define WAIT_US 1000u // of one byte, which takes 23 us; slaves may stretch the clock
#define HALF_CLOCK_US 5

static const FLASH uint8_t addresses[] = {
    [PART_INA226] = INA226_ADDRESS,
    [PART_ADS1115] = ADS1115_ADDRESS,
    [PART_EVENING_ADS1115] = EVENING_ADS1115_ADDRESS,
    [PART_ADS1115_SCAN] = ADS1115_SCAN_ADDRESS,
    [PART_MCP23017] = MCP23017_ADDRESS,
    [PART_MCP4725] = MCP4725_ADDRESS,
    MCP4725_ADDRESS + 1,
    MCP4725_ADDRESS + 2,
    MCP4725_ADDRESS + 3,
};

void twi_start(void)
{
    SDA_PORT |= SDA_MASK; // pull-ups: on a bare board nothing else holds the lines high
    SCL_PORT |= SCL_MASK;
    TWSR = 0;
    TWBR = (F_CPU / BUS_HZ - 16) / 2;
    TWCR = _BV(TWEN);
}

// Start an action and wait for its end; true when it ended with this status.
static bool act(uint8_t control, uint8_t status)
{
    TWCR = _BV(TWINT) | _BV(TWEN) | control;
    for (uint16_t us = 0; us < WAIT_US; us++) {
        if (TWCR & _BV(TWINT)) {
            return (TWSR & TW_STATUS_MASK) == status;
        }
        _delay_us(1);
    }
    return false;
}

static bool send(uint8_t byte, uint8_t status)
{
    TWDR = byte;
    return act(0, status);
}

static bool stop(void)
{
    TWCR = _BV(TWINT) | _BV(TWEN) | _BV(TWSTO);
    for (uint16_t us = 0; us < WAIT_US; us++) {
        if (!(TWCR & _BV(TWSTO))) {
            return true;
        }
        _delay_us(1);
    }
    return false;
}

static bool write_bytes(uint8_t address, const uint8_t *out, uint8_t length)
{
    if (!act(_BV(TWSTA), TW_START) || !send(address << 1 | TW_WRITE, TW_MT_SLA_ACK)) {
        return false;
    }
    for (uint8_t i = 0; i < length; i++) {
        if (!send(out[i], TW_MT_DATA_ACK)) {
            return false;
        }
    }
    return true;
}

static bool read_bytes(uint8_t address, uint8_t *in, uint8_t length, bool again)
{
    if (!act(_BV(TWSTA), again ? TW_REP_START : TW_START) || !send(address << 1 | TW_READ, TW_MR_SLA_ACK)) {
        return false;
    }
    for (uint8_t i = 0; i < length; i++) {
        bool last = i + 1 == length;
        if (!act(last ? 0 : _BV(TWEA), last ? TW_MR_DATA_NACK : TW_MR_DATA_ACK)) {
            return false;
        }
        in[i] = TWDR;
    }
    return true;
}

// A low line is pulled by its driver, a high one released to the pull-up.
static void scl(bool high)
{
    if (high) {
        DDRC &= (uint8_t)~SCL_MASK;
    } else {
        DDRC |= SCL_MASK;
    }
    _delay_us(HALF_CLOCK_US);
}

// Nine clocks let a slave that holds the data line finish its byte (UM10204, 3.1.16), then a stop.
static void recover(void)
{
    TWCR = 0;
    SCL_PORT &= (uint8_t)~SCL_MASK;
    SDA_PORT &= (uint8_t)~SDA_MASK;
    for (uint8_t i = 0; i < 9; i++) {
        scl(false);
        scl(true);
    }
    scl(false);
    DDRC |= SDA_MASK;
    scl(true);
    DDRC &= (uint8_t)~SDA_MASK; // data rises while the clock is high: stop
    _delay_us(HALF_CLOCK_US);
    twi_start();
}

bool hal_bus_free(void)
{
    return (SDA_PIN & SDA_MASK) && (SCL_PIN & SCL_MASK);
}

bool hal_i2c(enum part part, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length)
{
    uint8_t address = addresses[part];
    bool answered = out_length == 0 || write_bytes(address, out, out_length);
    if (answered && in_length != 0) {
        answered = read_bytes(address, in, in_length, out_length != 0);
    }
    bool stopped = stop();
    if (!answered || !stopped) {
        recover();
    }
    return answered && stopped;
}
