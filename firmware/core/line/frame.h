// Frames on the line, as wire.yaml says: body and CRC in sextets between two delimiters, decoded one byte at a time.
// Rule: a delimiter always ends a frame, so that after garbage the next frame is heard again.
#ifndef FRAME_H
#define FRAME_H

#include <stdbool.h>
#include <stdint.h>

#define FRAME_CRC 2

// CRC of some bytes, as wire.yaml has it.
uint16_t frame_crc(const uint8_t *bytes, uint8_t length);

// Take a byte; true when it completes a valid frame, whose body then stands until the next byte is taken.
bool frame_take(uint8_t byte);
const uint8_t *frame_body(void);
uint8_t frame_length(void); // without the CRC

// Frames that were damaged, too long or too short, since the start.
uint16_t frame_bad(void);

// Send a body of at most FRAME_LONGEST - FRAME_CRC bytes; room for the CRC behind it is needed.
void frame_send(uint8_t *body, uint8_t length);

#endif
