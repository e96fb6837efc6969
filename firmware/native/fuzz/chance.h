// Chance from a seed: xorshift64*, the same on every machine (S. Vigna, ACM TOMS 42, 2016).
#ifndef CHANCE_H
#define CHANCE_H

#include <stdbool.h>
#include <stdint.h>

extern uint64_t chance_state;

static inline uint32_t chance(void)
{
    chance_state ^= chance_state >> 12;
    chance_state ^= chance_state << 25;
    chance_state ^= chance_state >> 27;
    return (uint32_t)(chance_state * 0x2545F4914F6CDD1Dull >> 32);
}

// 0 to count - 1.
static inline uint32_t chance_of(uint32_t count)
{
    return (uint32_t)((uint64_t)chance() * count >> 32);
}

// Once in `count` times.
static inline bool once_in(uint32_t count)
{
    return chance_of(count) == 0;
}

#endif
