// Streaming decoder and encoder of frames; the only place that knows COBS and the CRC.
#include "frame.h"

#include "../hal.h"
#include "messages.h"

#define SHORTEST 2 // sequence and id

static uint8_t body[LONGEST_FRAME];
static uint8_t taken;      // bytes in body
static uint8_t left;       // bytes until the next COBS code
static bool started;       // a code has come since the last 0x00
static bool zero_pending;  // the run ends in a zero, if anything follows
static bool broken;        // longer than any frame
static uint16_t bad;

uint16_t crc16(uint16_t crc, uint8_t byte)
{
    crc ^= (uint16_t)byte << 8;
    for (uint8_t bit = 0; bit < 8; bit++) {
        crc = (crc & 0x8000u) ? (uint16_t)(crc << 1) ^ 0x1021u : (uint16_t)(crc << 1);
    }
    return crc;
}

static uint16_t crc_of(const uint8_t *bytes, uint8_t length)
{
    uint16_t crc = 0;
    for (uint8_t i = 0; i < length; i++) {
        crc = crc16(crc, bytes[i]);
    }
    return crc;
}

static void append(uint8_t byte)
{
    if (taken == LONGEST_FRAME) {
        broken = true;
        return;
    }
    body[taken++] = byte;
}

static bool valid(void)
{
    if (broken || left != 0 || taken < SHORTEST + FRAME_CRC) {
        return false;
    }
    uint16_t told = body[taken - 2] | (uint16_t)body[taken - 1] << 8;
    return crc_of(body, taken - FRAME_CRC) == told;
}

// The 0x00 has come. Repeated zeros are silence, not a bad frame.
static bool finish(void)
{
    bool good = started && valid();
    if (started && !good && bad < UINT16_MAX) {
        bad++;
    }
    started = broken = false;
    left = 0;
    return good;
}

bool frame_take(uint8_t byte)
{
    if (byte == 0) {
        return finish();
    }
    if (left > 0) {
        append(byte);
        left--;
        return false;
    }
    if (!started) {
        started = true;
        taken = 0;
    } else if (zero_pending) {
        append(0);
    }
    left = byte - 1;
    zero_pending = byte != 0xFF;
    return false;
}

const uint8_t *frame_body(void)
{
    return body;
}

uint8_t frame_length(void)
{
    return taken - FRAME_CRC;
}

uint16_t frame_bad(void)
{
    return bad;
}

// COBS without its 254-byte case: a frame is never that long. The zero before it ends whatever noise came first.
static void send_stuffed(const uint8_t *bytes, uint8_t length)
{
    hal_send(0);
    for (uint8_t start = 0; start <= length;) {
        uint8_t end = start;
        while (end < length && bytes[end] != 0) {
            end++;
        }
        hal_send(end - start + 1);
        while (start < end) {
            hal_send(bytes[start++]);
        }
        start++; // over the zero, or past the end
    }
    hal_send(0);
}

void frame_send(uint8_t *out, uint8_t length)
{
    uint16_t crc = crc_of(out, length);
    out[length] = crc & 0xFF;
    out[length + 1] = crc >> 8;
    send_stuffed(out, length + FRAME_CRC);
}
