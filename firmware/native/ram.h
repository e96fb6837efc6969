// What a reset clears: the variables of the core, which the build puts into sections of their own.
#ifndef RAM_H
#define RAM_H

// As the program loader left them; the first call only takes note of that. Those that are KEPT stay.
void ram_reset(void);

// The supply was off: the KEPT ones hold whatever RAM comes up with, here this byte everywhere.
void ram_lost(unsigned char byte);

#endif
