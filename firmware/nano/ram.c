// RAM between the variables and the stack: chance at the start, and how much of it the stack never reached. Of 714 bytes
// 563 were left by the worst storm of edges in the emulator (29 November 2026); tests hold 512.
#include <avr/io.h>

#include "../hal.h"
#include "nano.h"

#define PAINT 0xA5
#define FRAME 16 // of main, below which nothing is painted

extern uint8_t _end; // the linker's: first byte behind the variables

static KEPT uint16_t chance;

// After a reset the sum is over what the last run left, its own chance among it; after power-on over what RAM happens to
// hold. Never the same as before. Interrupts may be on: what one leaves on the stack is dead when the loop goes on.
void ram_start(void)
{
    uint16_t sum = chance;
    for (uint8_t *byte = &_end; byte < (uint8_t *)SP - FRAME; byte++) {
        sum = sum * 31 + *byte;
        *byte = PAINT;
    }
    chance = sum == chance ? sum + 1 : sum;
}

uint16_t hal_chance(void)
{
    return chance;
}

uint16_t hal_stack_spare(void)
{
    const uint8_t *byte = &_end;
    while (byte < (uint8_t *)SP && *byte == PAINT) {
        byte++;
    }
    return (uint16_t)(byte - &_end);
}
