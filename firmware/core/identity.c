// Reads and writes the two EEPROM records.
#include "identity.h"

#include <stdbool.h>
#include <string.h>

#include "../hal.h"
#include "dispatch.h"
#include "frame.h"
#include "work.h"

#define NAME_AT 0
#define BOOTS_AT 8

struct name {
    uint32_t serial;
    uint8_t kind;
} __attribute__((packed));

static uint16_t boots;

static bool read_record(uint8_t at, void *record, uint8_t length)
{
    uint8_t *bytes = record;
    uint16_t crc = 0;
    for (uint8_t i = 0; i < length; i++) {
        bytes[i] = hal_eeprom_read(at + i);
        crc = crc16(crc, bytes[i]);
    }
    return hal_eeprom_read(at + length) == (crc & 0xFF) && hal_eeprom_read(at + length + 1) == crc >> 8;
}

static void write_byte(uint8_t at, uint8_t value)
{
    hal_watchdog();
    if (hal_eeprom_read(at) != value) { // spares wear
        hal_eeprom_write(at, value);
    }
}

static void write_record(uint8_t at, const void *record, uint8_t length)
{
    const uint8_t *bytes = record;
    uint16_t crc = 0;
    for (uint8_t i = 0; i < length; i++) {
        write_byte(at + i, bytes[i]);
        crc = crc16(crc, bytes[i]);
    }
    write_byte(at + length, crc & 0xFF);
    write_byte(at + length + 1, crc >> 8);
}

// The name, or that of a board never named.
static struct name read_name(void)
{
    struct name name;
    if (!read_record(NAME_AT, &name, sizeof name) || (name.kind != KIND_REAL && name.kind != KIND_SIMULATED)) {
        name.serial = 0;
        name.kind = KIND_REAL;
    }
    return name;
}

void identity_start(void)
{
    boots = read_record(BOOTS_AT, &boots, sizeof boots) ? boots + 1 : 1;
    write_record(BOOTS_AT, &boots, sizeof boots);
}

uint32_t identity_serial(void)
{
    return read_name().serial;
}

uint8_t identity_kind(void)
{
    return read_name().kind;
}

uint16_t identity_boots(void)
{
    return boots;
}

enum result handle_name_board(const union request *request)
{
    struct name name = {request->name_board.serial, request->name_board.kind};
    if (work_in_hand() != 0) { // writing takes some 25 ms, during which nothing is served
        return RESULT_BUSY;
    }
    write_record(NAME_AT, &name, sizeof name);
    return RESULT_DONE;
}
