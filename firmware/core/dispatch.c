// Table-driven dispatch; both tables come from messages.h.
#include "dispatch.h"

#include <stddef.h>
#include <string.h>

#include "../hal.h"
#include "frame.h"
#include "guard.h"
#include "work.h"

#define HEAD 2 // sequence, id
#define ANSWER_BIT 0x80
#define REMEMBERED 128 // requests for which an energy request is known again: half the sequence numbers

struct field {
    uint8_t size;
    uint16_t least, most; // of u8 and u16; wider and signed fields have no narrower range
};

struct message {
    uint8_t id;
    bool energy;
    uint8_t first, fields;
    enum result (*handle)(const union request *request);
};

#define RANGE_u8(least, most) {1, least, most},
#define RANGE_u16(least, most) {2, least, most},
#define RANGE_i16(least, most) {2, 0, UINT16_MAX},
#define RANGE_u32(least, most) {4, 0, UINT16_MAX},
#define FIELD(type, least, most) RANGE_##type(least, most)
static const FLASH struct field fields[] = {REQUEST_FIELDS(FIELD)};

#define MESSAGE(name, id, energy, first, fields) {id, energy, first, fields, handle_##name},
static const FLASH struct message messages[] = {MESSAGES(MESSAGE)};

static const FLASH struct message *find(uint8_t id)
{
    for (uint8_t i = 0; i < sizeof messages / sizeof messages[0]; i++) {
        if (messages[i].id == id) {
            return &messages[i];
        }
    }
    return NULL;
}

static uint8_t request_length(const FLASH struct message *message)
{
    uint8_t length = 0;
    for (uint8_t i = 0; i < message->fields; i++) {
        length += fields[message->first + i].size;
    }
    return length;
}

static bool in_range(const FLASH struct message *message, const uint8_t *bytes)
{
    for (uint8_t i = 0; i < message->fields; i++) {
        const FLASH struct field *field = &fields[message->first + i];
        uint16_t value = field->size == 1 ? bytes[0] : bytes[0] | (uint16_t)bytes[1] << 8;
        if (value < field->least || value > field->most) {
            return false;
        }
        bytes += field->size;
    }
    return true;
}

// The last energy request that was admitted: its sequence, its CRC with all its bytes, and the requests since.
static uint8_t taken_sequence, taken_since = REMEMBERED;
static uint16_t taken_crc;

void dispatch_forget(void)
{
    taken_since = REMEMBERED;
}

static bool taken(const uint8_t *frame, uint8_t length)
{
    return taken_since < REMEMBERED && frame[0] == taken_sequence && frame_crc(frame, length) == taken_crc;
}

static void remember(bool energy, const uint8_t *frame, uint8_t length)
{
    if (energy) {
        taken_sequence = frame[0];
        taken_crc = frame_crc(frame, length);
        taken_since = 0;
    } else if (taken_since < REMEMBERED) {
        taken_since++;
    }
}

static enum result admit_energy(const uint8_t *frame, uint8_t length)
{
    if (hal_bare()) {
        return RESULT_BUILD;
    }
    if (taken(frame, length)) {
        return RESULT_REPEAT;
    }
    if (guard_tripped() != TRIP_NONE) {
        return RESULT_TRIPPED;
    }
    return work_in_hand() != 0 ? RESULT_BUSY : RESULT_DONE;
}

// Whether the message may run now.
static enum result admit(const FLASH struct message *message, const uint8_t *frame, uint8_t length)
{
    if (message == NULL || length - HEAD != request_length(message)) {
        return RESULT_UNKNOWN;
    }
    if (!in_range(message, frame + HEAD)) {
        return RESULT_ARGUMENT;
    }
    return message->energy ? admit_energy(frame, length) : RESULT_DONE;
}

void dispatch(const uint8_t *frame, uint8_t length)
{
    const uint8_t sequence = frame[0], id = frame[1]; // kept: a handler that serves the line overwrites the frame
    if (id & ANSWER_BIT) {
        return; // our own, from a line that echoes
    }
    const FLASH struct message *message = find(id);
    enum result result = admit(message, frame, length);
    if (result == RESULT_DONE) {
        guard_renew();
        remember(message->energy, frame, length);
        union request request;
        memcpy(request.bytes, frame + HEAD, length - HEAD);
        result = message->handle(&request);
    }
    if (result != RESULT_DONE) {
        answer_clear();
    }
    answer_send(sequence, id, result);
}

void serve(void)
{
    uint8_t byte;
    while (hal_receive(&byte)) {
        if (frame_take(byte)) {
            dispatch(frame_body(), frame_length());
        }
    }
}
