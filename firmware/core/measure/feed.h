// The main relay K1 of an evening build, which feeds coil and load.
// Rule: it is closed and at rest before either is switched on, and opened after both are off, so that it never makes or
// breaks their current but in a trip.
#ifndef FEED_H
#define FEED_H

#include "../line/messages.h"

// Wait until K1, let on before, has come to rest; RESULT_STOPPED where its time was over meanwhile. Amid work only.
enum result feed_rests(void);

// Close it for a load of its own, and open it again after that; harmless where it was closed before.
enum result feed_begin(void);
void feed_end(void);

#endif
