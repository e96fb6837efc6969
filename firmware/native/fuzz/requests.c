// Requests from the schema, the damage, and the decoder that knows what was really sent.
#include "requests.h"

#include <string.h>

#include "chance.h"
#include "promises.h"

#define CONTENT (FRAME_LONGEST - 2)
#define ENCODED ((FRAME_LONGEST * 8 + 5) / 6)

struct field {
    uint8_t size;
    uint32_t least, most;
};

struct message {
    uint8_t id, first, fields;
    bool order;
};

#define SIZE_u8 1
#define SIZE_u16 2
#define SIZE_i16 2
#define SIZE_u32 4
#define LEAST_u8(least) (least)
#define LEAST_u16(least) (least)
#define LEAST_i16(least) 0
#define LEAST_u32(least) (least)
#define MOST_u8(most) (most)
#define MOST_u16(most) (most)
#define MOST_i16(most) 0xFFFF
#define MOST_u32(most) (most)
#define FIELD(type, least, most) {SIZE_##type, LEAST_##type(least), MOST_##type(most)},
static const struct field fields[] = {REQUEST_FIELDS(FIELD)};

#define MESSAGE(name, id, energy, order, first, count) {id, first, count, order},
static const struct message messages[] = {MESSAGES(MESSAGE)};
#define MESSAGE_COUNT (sizeof messages / sizeof messages[0])

static const struct message *find(uint8_t id)
{
    for (uint32_t i = 0; i < MESSAGE_COUNT; i++) {
        if (messages[i].id == id) {
            return &messages[i];
        }
    }
    return NULL;
}

uint32_t this_start;

// --- bytes of a frame ---

static uint16_t crc_of(const uint8_t *bytes, uint32_t length)
{
    static uint16_t table[256];
    if (table[1] == 0) {
        for (uint32_t byte = 0; byte < 256; byte++) {
            uint32_t value = byte << 8;
            for (int bit = 0; bit < 8; bit++) {
                value = value << 1 ^ (value & 0x8000 ? CRC_POLYNOMIAL : 0);
            }
            table[byte] = (uint16_t)value;
        }
    }
    uint16_t crc = CRC_INIT;
    for (uint32_t i = 0; i < length; i++) {
        crc = (uint16_t)(crc << 8) ^ table[crc >> 8 ^ bytes[i]];
    }
    return crc ^ CRC_FINAL;
}

// Delimiter, sextets, delimiter.
static uint32_t encode(const uint8_t *content, uint32_t length, uint16_t crc, uint8_t *encoded)
{
    uint8_t whole[FRAME_LONGEST + 2];
    uint32_t made = 0;
    memcpy(whole, content, length);
    whole[length++] = crc >> 8;
    whole[length++] = crc & 0xFF;
    whole[length] = 0;
    encoded[made++] = FRAME_DELIMITER;
    for (uint32_t bit = 0; bit < 8 * length; bit += 6) {
        uint32_t two = (uint32_t)whole[bit / 8] << 8 | whole[bit / 8 + 1];
        encoded[made++] = FRAME_MARK | (two >> (10 - bit % 8) & 0x3F);
    }
    encoded[made++] = FRAME_DELIMITER;
    return made;
}

struct decoder {
    uint8_t encoded[ENCODED];
    uint32_t length;
    bool overlong;
};

// The content of what lies between two delimiters; its length, 0 when it is no frame.
static uint32_t decode(const struct decoder *d, uint8_t *content)
{
    uint32_t length = d->length * 6 / 8, rest = 0, bits = 0, made = 0;
    uint8_t whole[FRAME_LONGEST + 1];
    if (d->overlong || length < FRAME_SHORTEST || length > FRAME_LONGEST || d->length * 6 % 8 == 6) {
        return 0;
    }
    for (uint32_t i = 0; i < d->length; i++) {
        if (d->encoded[i] < FRAME_MARK) {
            return 0;
        }
        rest = rest << 6 | (d->encoded[i] & 0x3F);
        bits += 6;
        if (bits >= 8) {
            bits -= 8;
            whole[made++] = rest >> bits & 0xFF;
        }
    }
    if (rest & ((1u << bits) - 1)) {
        return 0;
    }
    length -= 2;
    memcpy(content, whole, length);
    return crc_of(whole, length) == (whole[length] << 8 | whole[length + 1]) ? length : 0;
}

// The length of a content that this byte completes, or 0.
static uint32_t take(struct decoder *d, uint8_t byte, uint8_t *content)
{
    if (byte != FRAME_DELIMITER) {
        if (d->length == ENCODED) {
            d->overlong = true;
        } else {
            d->encoded[d->length++] = byte;
        }
        return 0;
    }
    uint32_t length = decode(d, content);
    d->length = 0;
    d->overlong = false;
    return length;
}

static bool is_order(const struct message *message, uint32_t length)
{
    uint32_t wanted = 0;
    for (uint8_t i = 0; message && i < message->fields; i++) {
        wanted += fields[message->first + i].size;
    }
    return message && message->order && length == wanted;
}

static bool is_well_formed(const struct message *message, const uint8_t *bytes, uint32_t length)
{
    for (uint8_t i = 0; message && i < message->fields; i++) {
        const struct field *field = &fields[message->first + i];
        uint32_t value = 0;
        if (length < field->size) {
            return false;
        }
        memcpy(&value, bytes, field->size);
        if (value < field->least || value > field->most) {
            return false;
        }
        bytes += field->size;
        length -= field->size;
    }
    return message && length == 0;
}

static struct decoder from_host, from_board;

void heard_nothing_yet(void)
{
    memset(&from_host, 0, sizeof from_host);
}

bool heard(uint8_t byte, struct heard *request)
{
    uint8_t content[FRAME_LONGEST];
    uint32_t length = take(&from_host, byte, content);
    if (length == 0) {
        return false;
    }
    request->sequence = content[0];
    request->id = content[1];
    request->order = is_order(find(content[1]), length - 2);
    request->well_formed = is_well_formed(find(content[1]), content + 2, length - 2);
    memset(&request->fields, 0, sizeof request->fields);
    if (request->well_formed) {
        memcpy(request->fields.bytes, content + 2, length - 2);
    }
    return true;
}

void answered_nothing_yet(void)
{
    memset(&from_board, 0, sizeof from_board);
}

bool answered(uint8_t byte, uint8_t *sequence, uint8_t *id, uint8_t *result)
{
    uint8_t content[FRAME_LONGEST];
    uint32_t length = take(&from_board, byte, content);
    if (length < 3) {
        return false;
    }
    *sequence = content[0];
    *id = content[1];
    *result = content[2];
    return true;
}

// --- made by chance ---

// In range: anywhere, at an end, or small; else anything.
static uint32_t value_for(const struct field *field)
{
    uint32_t span = field->most - field->least;
    switch (chance_of(32)) {
    case 0:
        return chance();
    case 1:
        return field->least;
    case 2:
        return field->most;
    default:
        if (once_in(3)) {
            span = span < 300 ? span : 300;
        }
        return field->least + (span == UINT32_MAX ? chance() : chance_of(span + 1));
    }
}

static bool suits_evening;

void requests_suit_evening(bool evening)
{
    suits_evening = evening;
}

static void suit(uint8_t id, union request *request)
{
    if (id == ID_HOLD_COIL || id == ID_STEP_COIL || id == ID_HOT_STEP) {
        request->hold_coil.dac = 4095; // the first fields of all three are the same
        request->hold_coil.diode = 0;
    }
    if (id == ID_HOT_STEP) {
        request->hot_step.branches = 4;
    }
    if (id == ID_LOAD_PULSE) {
        request->load_pulse.branches = 4;
    }
    if (id == ID_SCAN) {
        request->scan.source = 2;
        request->scan.sink = 1;
        request->scan.look = request->scan.weak = 0;
    }
}

// Numbers go up, as an order's must; a few come late, or from nowhere.
static uint32_t content_for(const struct message *message, uint8_t *content)
{
    static uint8_t sent[2]; // of questions and of orders
    uint8_t *newest = &sent[message->order];
    const uint8_t known = promises_newest(message->order);
    uint32_t length = 2;
    if ((uint8_t)(*newest - known) >= ORDERS_AHEAD / 2) {
        *newest = known; // as a host does that begins again
    }
    content[0] = once_in(16) ? (uint8_t)chance() : ++*newest;
    content[1] = message->id;
    for (uint8_t i = 0; i < message->fields; i++) {
        const struct field *field = &fields[message->first + i];
        uint32_t value = message->id == ID_BEGIN && !once_in(8) ? this_start : value_for(field);
        memcpy(content + length, &value, field->size);
        length += field->size;
    }
    if (suits_evening && !once_in(8)) {
        union request request;
        memcpy(request.bytes, content + 2, length - 2);
        suit(message->id, &request);
        memcpy(content + 2, request.bytes, length - 2);
    }
    return length;
}

static uint8_t old[MOST_ENCODED];
static uint32_t old_length;

uint32_t old_status(uint8_t *encoded)
{
    memcpy(encoded, old, old_length);
    return old_length;
}

uint32_t request_frame(uint8_t id, uint8_t *encoded)
{
    uint8_t content[FRAME_LONGEST];
    uint32_t length = content_for(find(id), content);
    length = encode(content, length, crc_of(content, length), encoded);
    if (id == ID_STATUS) {
        memcpy(old, encoded, length);
        old_length = length;
    }
    return length;
}

uint32_t any_frame(uint8_t *encoded)
{
    uint8_t content[FRAME_LONGEST];
    uint32_t length = content_for(&messages[chance_of(MESSAGE_COUNT)], content);
    if (once_in(64)) {
        content[1] = (uint8_t)chance(); // an answer, or nothing
    }
    if (once_in(64)) {
        for (uint32_t most = chance_of(CONTENT - length); most > 0; most--) {
            content[length++] = (uint8_t)chance();
        }
    }
    if (once_in(64) && length > 2) {
        length = 2 + chance_of(length - 2);
    }
    uint16_t crc = crc_of(content, length);
    return encode(content, length, once_in(64) ? (uint16_t)chance() : crc, encoded);
}

// --- damage ---

static uint32_t without(uint8_t *encoded, uint32_t length, uint32_t at)
{
    memmove(encoded + at, encoded + at + 1, length - at - 1);
    return length - 1;
}

static uint32_t with(uint8_t *encoded, uint32_t length, uint32_t at, uint8_t byte)
{
    memmove(encoded + at + 1, encoded + at, length - at);
    encoded[at] = byte;
    return length + 1;
}

static uint32_t do_damage(uint8_t *encoded, uint32_t length)
{
    uint32_t at = once_in(4) ? (once_in(2) ? 0 : length - 1) : chance_of(length); // delimiters weigh more
    uint8_t other;
    switch (chance_of(8)) {
    case 0:
        encoded[at] ^= 1u << chance_of(8);
        return length;
    case 1:
        encoded[at] ^= 1u << chance_of(8);
        encoded[chance_of(length)] ^= 1u << chance_of(8);
        return length;
    case 2:
        return without(encoded, length, at);
    case 3:
        return with(encoded, length, at, encoded[at]);
    case 4:
        return with(encoded, length, at, (uint8_t)chance());
    case 5:
        other = encoded[at];
        encoded[at] = encoded[(at + 1) % length];
        encoded[(at + 1) % length] = other;
        return length;
    case 6:
        for (uint32_t most = 1 + chance_of(8); most > 0 && at < length; most--) {
            encoded[at++] = (uint8_t)chance();
        }
        return length;
    default:
        return 1 + chance_of(length);
    }
}

static uint32_t alone(const uint8_t *encoded, uint32_t length, uint8_t *content)
{
    struct decoder d = {.length = 0};
    uint32_t found = 0;
    for (uint32_t i = 0; i <= length && found == 0; i++) {
        found = take(&d, i < length ? encoded[i] : FRAME_DELIMITER, content);
    }
    return found;
}

uint32_t damaged(uint8_t *encoded, uint32_t length, bool *slipped)
{
    uint8_t before[FRAME_LONGEST] = {0}, after[FRAME_LONGEST] = {0};
    uint32_t meant = alone(encoded, length, before);
    length = do_damage(encoded, length);
    uint32_t found = alone(encoded, length, after);
    *slipped = found != 0 && (found != meant || memcmp(before, after, found) != 0);
    return length;
}
