// The answer being written: fields first, then sent with its head and CRC.
// Rule: one answer at a time; a handler writes its fields in one go, at its end.
#ifndef ANSWER_H
#define ANSWER_H

#include <stdint.h>

void put_u8(uint8_t value);
void put_u16(uint16_t value);
void put_i16(int16_t value);
void put_u32(uint32_t value);

// Forget the fields written so far.
void answer_clear(void);

// Send what was written as the answer to request `id`, and be empty again.
void answer_send(uint8_t sequence, uint8_t id, uint8_t result);

#endif
