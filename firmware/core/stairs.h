// staircase: walks the coil voltage until the contacts come to the wanted state.
// Rule: the coil stays at the step where the walk ended, wanted state or not, until its on-time is over.
#ifndef STAIRS_H
#define STAIRS_H

#include "dispatch.h"

#endif
