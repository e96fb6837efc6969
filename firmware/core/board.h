// The board as a whole: its start, one pass of its loop, and the requests about its state.
// Rule: outputs are already off when board_start is called.
#ifndef BOARD_H
#define BOARD_H

void board_start(void);

// Serve the line once, then sleep until something happens.
void board_pass(void);

#endif
