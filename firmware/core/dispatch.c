// Table-driven dispatch; both tables come from messages.h.
#include "dispatch.h"

#include <stddef.h>
#include <string.h>

#include "../hal.h"
#include "frame.h"
#include "guard.h"
#include "work.h"

#define HEAD 2 // sequence, id

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

// Whether the message may run now; the bytes are its fields.
static enum result admit(const FLASH struct message *message, const uint8_t *bytes, uint8_t length)
{
    if (message == NULL || length != request_length(message)) {
        return RESULT_UNKNOWN;
    }
    if (!in_range(message, bytes)) {
        return RESULT_ARGUMENT;
    }
    if (message->energy && hal_bare()) {
        return RESULT_BUILD;
    }
    if (message->energy && guard_tripped() != TRIP_NONE) {
        return RESULT_TRIPPED;
    }
    return message->energy && work_in_hand() != 0 ? RESULT_BUSY : RESULT_DONE;
}

void dispatch(const uint8_t *frame, uint8_t length)
{
    const uint8_t sequence = frame[0], id = frame[1]; // kept: a handler that serves the line overwrites the frame
    const FLASH struct message *message = find(id);
    enum result result = admit(message, frame + HEAD, length - HEAD);
    if (result == RESULT_DONE) {
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
            guard_renew();
            dispatch(frame_body(), frame_length());
        }
    }
}
