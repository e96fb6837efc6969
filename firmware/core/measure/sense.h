// Waiting for the Nano's own converter; handlers are declared in dispatch.h.
#ifndef SENSE_H
#define SENSE_H

#include <stdint.h>

#include "../line/messages.h"

// Wait for a sum begun by hal_analog_begin or hal_bare_sense, the line served meanwhile.
enum result analog_await(uint16_t *sum);

#endif
