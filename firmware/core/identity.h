// Who the board is, kept in its EEPROM: three records, each with the CRC of the frames, little-endian, and notes.
//   0 to 15: empty, because a supply that breaks down can spoil address 0 (ATmega328P data sheet, EEPROM corruption)
//   16: serial u32, kind u8, CRC u16    written by name_board
//   32: boots u16, CRC u16               written at every start
//   48: full u8, CRC u16                 written when a part first answers on the I2C bus: never a bare board again, but
//                                        by make_bare
//   52: 0x5A when nothing was loaded in the last 10 s (duty.h)
//   256 to 1023: the host's notes, such as the bench's calibration; what they mean, and their CRC, is the host's
// Rule: a record whose CRC is wrong counts as never written: serial 0, kind real, boots from 0.
#ifndef IDENTITY_H
#define IDENTITY_H

#include <stdbool.h>
#include <stdint.h>

#include "line/messages.h"

#define KIND_REAL 0x52
#define KIND_SIMULATED 0x53

// Count this start.
void identity_boot(void);

// Whether a part has ever answered this board on its bus; and that one does.
bool identity_full(void);
void identity_keep_full(void);
void identity_forget_full(void);

// Whether the EEPROM may be written now: no work in hand, nothing on.
enum result identity_may_write(void);

uint32_t identity_serial(void);
uint8_t identity_kind(void);
uint16_t identity_boots(void);
// A number of this start: hal_chance above, boots below, so that it differs from the last start's when either does. With
// the EEPROM worn it still does after any reset that left RAM alone; after the power was off it is as good as chance is.
uint32_t identity_start(void);

#endif
