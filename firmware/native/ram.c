// The core's variables, given back their first values at every start.
#include "ram.h"

#include <stdint.h>
#include <stdlib.h>

extern uint8_t __start_core_kept[], __stop_core_kept[];
extern uint8_t __start_core_bss[], __stop_core_bss[], __start_core_data[], __stop_core_data[];

// Byte by byte and unwatched: what ASan puts between the variables is copied along.
__attribute__((no_sanitize("address"))) static void copy(volatile uint8_t *to, const volatile uint8_t *from, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        to[i] = from ? from[i] : 0;
    }
}

void ram_reset(void)
{
    static uint8_t *first;
    const size_t data = (uintptr_t)__stop_core_data - (uintptr_t)__start_core_data;
    if (first == NULL) {
        first = malloc(data);
        copy(first, __start_core_data, data);
    }
    copy(__start_core_data, first, data);
    copy(__start_core_bss, NULL, (uintptr_t)__stop_core_bss - (uintptr_t)__start_core_bss);
}

__attribute__((no_sanitize("address"))) void ram_lost(unsigned char byte)
{
    const size_t size = (uintptr_t)__stop_core_kept - (uintptr_t)__start_core_kept;
    for (size_t i = 0; i < size; i++) {
        ((volatile uint8_t *)__start_core_kept)[i] = byte;
    }
}
