// The answer being written, little-endian, in a buffer of the longest frame.
#include "answer.h"

#include "../../hal.h"
#include "handlers.h"
#include "frame.h"
#include "../safety/work.h"

#define HEAD 3 // sequence, id, result

static uint8_t body[FRAME_LONGEST];
static uint8_t length = HEAD;
static uint8_t fill; // delimiters behind an answer

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
    for (uint8_t i = 0; i < fill && work_in_hand() == 0; i++) { // at work they would be in the way of edges
        hal_send(FRAME_DELIMITER);
    }
    answer_clear();
}

enum result handle_fill_packets(const union request *request)
{
    fill = request->fill_packets.bytes;
    return RESULT_DONE;
}
