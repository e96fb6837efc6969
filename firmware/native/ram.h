// What a reset clears: the variables of the core, which the build puts into sections of their own.
#ifndef RAM_H
#define RAM_H

// As the program loader left them; the first call only takes note of that.
void ram_reset(void);

#endif
