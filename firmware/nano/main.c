// The Nano's start and its endless loop.
#include <avr/interrupt.h>

#include "../core/board.h"
#include "nano.h"

int main(void)
{
    pins_start();
    clock_start();
    uart_start();
    adc_start();
    edges_start();
    twi_start();
    sei();
    ram_start();
    board_start();
    for (;;) {
        board_pass();
    }
}
