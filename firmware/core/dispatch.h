// From a valid frame to the handler of its message, and its answer back.
// Rule: length, ranges, trip and busy are judged here, from the schema, before any handler sees a request.
#ifndef DISPATCH_H
#define DISPATCH_H

#include "messages.h"

// Every handler returns the first byte of its answer; its fields are sent only with RESULT_DONE.
#define DECLARE_HANDLER(name, ...) enum result handle_##name(const union request *request);
MESSAGES(DECLARE_HANDLER)
#undef DECLARE_HANDLER

// Answer one frame: sequence, id, fields. A request that is admitted renews the lease; an energy request that was
// admitted before, byte for byte, is not again: RESULT_REPEAT.
void dispatch(const uint8_t *frame, uint8_t length);

// A new host: its sequence numbers begin anew.
void dispatch_forget(void);

// Take what has come on the line and answer it. Work in hand calls this too, so that the host is never deaf.
void serve(void);

#endif
