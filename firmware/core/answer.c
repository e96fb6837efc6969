// The answer being written, little-endian, in a buffer of the longest frame.
#include "answer.h"

#include "frame.h"
#include "messages.h"

#define HEAD 3 // sequence, id, result

static uint8_t body[FRAME_LONGEST];
static uint8_t length = HEAD;

void put_u8(uint8_t value)
{
    if (length < FRAME_LONGEST - FRAME_CRC) { // the schema fits; a slip in it must not write beyond
        body[length++] = value;
    }
}

void put_u16(uint16_t value)
{
    put_u8(value & 0xFF);
    put_u8(value >> 8);
}

void put_i16(int16_t value)
{
    put_u16((uint16_t)value);
}

void put_u32(uint32_t value)
{
    put_u16(value & 0xFFFF);
    put_u16(value >> 16);
}

void answer_clear(void)
{
    length = HEAD;
}

void answer_send(uint8_t sequence, uint8_t id, uint8_t result)
{
    body[0] = sequence;
    body[1] = id | 0x80;
    body[2] = result;
    frame_send(body, length);
    answer_clear();
}
