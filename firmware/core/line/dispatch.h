// From a valid frame to the handler of its message, and its answer back.
// Rule: length, ranges, trip and busy are judged here, from the schema, before any handler sees a request.
#ifndef DISPATCH_H
#define DISPATCH_H

#include <stdint.h>

// Answer one frame: sequence, id, fields. An order that is admitted renews the lease, and so does a question that is a
// little ahead of the newest heard. An order that is not ahead is refused, RESULT_REPEAT, and before `begin`
// RESULT_NOT_BEGUN; all_off never is.
void dispatch(const uint8_t *frame, uint8_t length);

// Sequence of the newest order heard, and of the last one that was no repeat; they differ after a late all_off.
uint8_t dispatch_newest(void);
uint8_t dispatch_last(void);

// Sequence of the newest question heard.
uint8_t dispatch_question(void);

// Take what has come on the line, up to the end of one valid frame, and answer it: requests that come faster than they
// are answered keep nothing else waiting. Work in hand calls this too, so that the board is never deaf.
void serve(void);

#endif
