// Reads and writes the EEPROM: the three records, and the notes of the host.
#include "identity.h"

#include <string.h>

#include "../hal.h"
#include "line/handlers.h"
#include "line/frame.h"
#include "safety/work.h"

#define NAME_AT 16
#define BOOTS_AT 32
#define FULL_AT 48
#define FULL 0x46
#define NOTES_AT 256
#define NOTES_A_FRAME 32

struct name {
    uint32_t serial;
    uint8_t kind;
} __attribute__((packed));

static uint16_t boots;

// Not the CRC of a frame itself, by which an erased record would be whole.
static uint16_t record_check(const uint8_t *bytes, uint8_t length)
{
    return (uint16_t)~frame_crc(bytes, length);
}

static bool read_record(uint8_t at, void *record, uint8_t length)
{
    uint8_t *bytes = record;
    for (uint8_t i = 0; i < length; i++) {
        bytes[i] = hal_eeprom_read(at + i);
    }
    uint16_t check = record_check(bytes, length);
    return hal_eeprom_read(at + length) == check >> 8 && hal_eeprom_read(at + length + 1) == (check & 0xFF);
}

static void write_byte(uint16_t at, uint8_t value)
{
    hal_watchdog();
    if (hal_eeprom_read(at) != value) { // spares wear
        hal_eeprom_write(at, value);
    }
}

static void write_record(uint8_t at, const void *record, uint8_t length)
{
    const uint8_t *bytes = record;
    uint16_t check = record_check(bytes, length);
    for (uint8_t i = 0; i < length; i++) {
        write_byte(at + i, bytes[i]);
    }
    write_byte(at + length, check >> 8);
    write_byte(at + length + 1, check & 0xFF);
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

void identity_boot(void)
{
    boots = read_record(BOOTS_AT, &boots, sizeof boots) ? boots + 1 : 1;
    write_record(BOOTS_AT, &boots, sizeof boots);
}

bool identity_full(void)
{
    uint8_t kept;
    return read_record(FULL_AT, &kept, sizeof kept) && kept == FULL;
}

void identity_keep_full(void)
{
    const uint8_t full = FULL;
    write_record(FULL_AT, &full, sizeof full);
}

void identity_forget_full(void)
{
    write_byte(FULL_AT, (uint8_t)~FULL); // its CRC is wrong then
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

uint32_t identity_start(void)
{
    return (uint32_t)hal_chance() << 16 | boots;
}

// A byte takes 3.4 ms, during which nothing is served: it is written only while no work waits and nothing is on.
enum result identity_may_write(void)
{
    if (work_in_hand() != 0) {
        return RESULT_BUSY;
    }
    return hal_outputs_now() == 0 ? RESULT_DONE : RESULT_ENERGISED;
}

enum result handle_name_board(const union request *request)
{
    struct name name = {request->name_board.serial, read_name().kind};
    enum result result = identity_may_write();
    if (result == RESULT_DONE) {
        write_record(NAME_AT, &name, sizeof name);
    }
    return result;
}

enum result handle_read_notes(const union request *request)
{
    uint8_t notes[NOTES_A_FRAME];
    for (uint8_t i = 0; i < NOTES_A_FRAME; i++) {
        notes[i] = hal_eeprom_read(NOTES_AT + request->read_notes.first + i);
    }
    answer_read_notes(NOTES_A_FRAME, notes);
    return RESULT_DONE;
}

enum result handle_write_notes(const union request *request)
{
    enum result result = identity_may_write();
    if (result == RESULT_DONE) {
        uint32_t word = request->write_notes.word;
        for (uint8_t i = 0; i < sizeof word; i++) {
            write_byte(NOTES_AT + request->write_notes.first + i, word & 0xFF);
            word >>= 8;
        }
    }
    return result;
}
