// Streaming decoder and encoder of frames; the only place that knows sextets and the CRC.
#include "frame.h"

#include "../../hal.h"
#include "messages.h"

#define SEXTET ((uint8_t)~FRAME_MARK) // the bits of a byte that carry content

static uint8_t body[FRAME_LONGEST];
static uint8_t taken;    // bytes in body
static uint16_t stream;  // the last bits that came
static uint8_t bits;     // how many of them are not in body yet
static bool started;     // a byte has come since the last delimiter
static bool broken;      // longer than any frame, or a byte without the mark
static uint16_t bad;

static uint16_t crc16(uint16_t crc, uint8_t byte)
{
    crc ^= (uint16_t)byte << 8;
    for (uint8_t bit = 0; bit < 8; bit++) {
        crc = (crc & 0x8000u) ? (uint16_t)(crc << 1) ^ CRC_POLYNOMIAL : (uint16_t)(crc << 1);
    }
    return crc;
}

uint16_t frame_crc(const uint8_t *bytes, uint8_t length)
{
    uint16_t crc = CRC_INIT;
    for (uint8_t i = 0; i < length; i++) {
        crc = crc16(crc, bytes[i]);
    }
    return crc ^ CRC_FINAL;
}

static void append(uint8_t byte)
{
    if (taken == FRAME_LONGEST) {
        broken = true;
        return;
    }
    body[taken++] = byte;
}

// Less than a sextet is left over, and that is zeros: there is one way to write a frame.
static bool ends_well(void)
{
    return bits < 6 && (stream & ((1u << bits) - 1)) == 0;
}

static bool valid(void)
{
    if (broken || taken < FRAME_SHORTEST || !ends_well()) {
        return false;
    }
    uint16_t told = (uint16_t)body[taken - 2] << 8 | body[taken - 1];
    return frame_crc(body, taken - FRAME_CRC) == told;
}

// The delimiter has come. Repeated ones are silence, not a bad frame.
static bool finish(void)
{
    bool good = started && valid();
    if (started && !good && bad < UINT16_MAX) {
        bad++;
    }
    started = false;
    return good;
}

bool frame_take(uint8_t byte)
{
    if (byte == FRAME_DELIMITER) {
        return finish();
    }
    if (!started) {
        started = true;
        broken = false;
        taken = bits = 0;
    }
    if ((byte & FRAME_MARK) != FRAME_MARK) {
        broken = true;
    }
    stream = (uint16_t)(stream << 6) | (byte & SEXTET);
    bits += 6;
    if (bits >= 8) {
        bits -= 8;
        append(stream >> bits & 0xFF);
    }
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

static void send_sextet(uint16_t value)
{
    hal_send(FRAME_MARK | (value & SEXTET));
}

// The delimiter before it ends whatever noise came first.
static void send_sextets(const uint8_t *bytes, uint8_t length)
{
    uint16_t rest = 0;
    uint8_t rest_bits = 0;
    hal_send(FRAME_DELIMITER);
    for (uint8_t i = 0; i < length; i++) {
        rest = (uint16_t)(rest << 8) | bytes[i];
        for (rest_bits += 8; rest_bits >= 6;) {
            rest_bits -= 6;
            send_sextet(rest >> rest_bits);
        }
    }
    if (rest_bits != 0) {
        send_sextet(rest << (6 - rest_bits));
    }
    hal_send(FRAME_DELIMITER);
}

void frame_send(uint8_t *out, uint8_t length)
{
    uint16_t crc = frame_crc(out, length);
    out[length] = crc >> 8; // the order of the stream: the CRC's promise about bursts needs it
    out[length + 1] = crc & 0xFF;
    send_sextets(out, length + FRAME_CRC);
}
