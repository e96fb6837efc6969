// Table-driven dispatch; both tables come from messages.h.
#include "dispatch.h"

#include <stddef.h>
#include <string.h>

#include "../../hal.h"
#include "frame.h"
#include "../safety/guard.h"
#include "handlers.h"
#include "../build.h"
#include "../identity.h"
#include "../measure/parts.h"
#include "../measure/scan.h"
#include "../safety/work.h"

#define HEAD 2 // sequence, id
#define ANSWER_BIT 0x80

struct field {
    uint8_t size;
    uint16_t least, most; // of u8 and u16; wider and signed fields have no narrower range
};

struct message {
    uint8_t id;
    bool energy, order;
    uint8_t first, fields;
    enum result (*handle)(const union request *request);
};

#define RANGE_u8(least, most) {1, least, most},
#define RANGE_u16(least, most) {2, least, most},
#define RANGE_i16(least, most) {2, 0, UINT16_MAX},
#define RANGE_u32(least, most) {4, 0, UINT16_MAX},
#define FIELD(type, least, most) RANGE_##type(least, most)
static const FLASH struct field fields[] = {REQUEST_FIELDS(FIELD)};

#define MESSAGE(name, id, energy, order, first, fields) {id, energy, order, first, fields, handle_##name},
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

static KEPT uint8_t newest; // sequence of the newest order heard; kept, or copies from before a reset would be ahead
static uint8_t last;        // of the last one heard that was no repeat: the newest, or an all_off that came late
static KEPT uint8_t question; // of the newest question heard; kept for the same reason
static bool begun;          // by a host that knows this start
static uint16_t empty_ms;   // when the line last had no more: what is taken from it has come since

uint8_t dispatch_newest(void)
{
    return newest;
}

uint8_t dispatch_last(void)
{
    return last;
}

uint8_t dispatch_question(void)
{
    return question;
}

static bool is_ahead(uint8_t sequence, uint8_t *of, uint8_t most)
{
    bool ahead = (uint8_t)(sequence - *of - 1) < most;
    if (ahead) {
        *of = sequence;
    }
    return ahead;
}

// A line may hold a frame back, or bring it twice. What was refused counts as heard: its copy must not run either.
static enum result in_order(uint8_t id, uint8_t sequence)
{
    bool ahead = is_ahead(sequence, &newest, ORDERS_AHEAD);
    if (ahead || id == ID_ALL_OFF) {
        last = sequence;
    }
    if (id == ID_ALL_OFF) {
        return RESULT_DONE;
    }
    return !begun ? RESULT_NOT_BEGUN : ahead ? RESULT_DONE : RESULT_REPEAT;
}

static enum result admit_energy(void)
{
    if (hal_bare()) {
        return RESULT_BUILD;
    }
    if (guard_tripped() != TRIP_NONE) {
        return RESULT_TRIPPED;
    }
    if (parts_silent() || scan_lost()) {
        return RESULT_BUS;
    }
    return work_in_hand() != 0 ? RESULT_BUSY : build_admits();
}

// Whether the message may run now.
static enum result admit(const FLASH struct message *message, const uint8_t *frame, uint8_t length)
{
    if (message == NULL || length - HEAD != request_length(message)) {
        return RESULT_UNKNOWN;
    }
    enum result result = message->order ? in_order(message->id, frame[0]) : RESULT_DONE;
    if (result != RESULT_DONE) {
        return result;
    }
    if (!in_range(message, frame + HEAD)) {
        return RESULT_ARGUMENT;
    }
    return message->energy ? admit_energy() : RESULT_DONE;
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
        if (message->order || is_ahead(sequence, &question, QUESTIONS_AHEAD)) {
            guard_renew((uint16_t)hal_ms() - empty_ms);
        }
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
            return;
        }
    }
    empty_ms = (uint16_t)hal_ms();
}

enum result handle_begin(const union request *request)
{
    bool known = request->begin.start == identity_start();
    begun = begun || known;
    return known ? RESULT_DONE : RESULT_NOT_BEGUN;
}
