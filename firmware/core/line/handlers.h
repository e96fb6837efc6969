// The handler of every request of the schema; each capability defines its own.
#ifndef HANDLERS_H
#define HANDLERS_H

#include "messages.h"

// Every handler returns the first byte of its answer; its fields are sent only with RESULT_DONE.
#define DECLARE_HANDLER(name, ...) enum result handle_##name(const union request *request);
MESSAGES(DECLARE_HANDLER)
#undef DECLARE_HANDLER

#endif
