// The one piece of work in hand: a request whose answer comes when it is done.
// Rule: work waits only by the functions here, which serve the line meanwhile, and stops when they say so.
#ifndef WORK_H
#define WORK_H

#include <stdbool.h>
#include <stdint.h>

#include "../line/messages.h"

// What serves the line while work waits; given once, before any work.
void work_serves(void (*serve)(void));

// False when other work is in hand: answer RESULT_BUSY.
bool work_begin(enum message_id id);
void work_finish(void);

// Id of the request in hand, 0 when idle.
uint8_t work_in_hand(void);

// End the work in hand with this result; harmless without work. May be called from an interrupt.
void work_end(enum result result);

// One pass: serve the line. RESULT_DONE while the work may go on, else why it ended.
enum result work_pass(void);

// At least this long, or until the work ends; the same result.
enum result work_wait(uint16_t ms);

#endif
