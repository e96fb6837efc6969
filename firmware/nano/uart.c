// Serial line at 500 kbaud, both ways through rings; a byte takes 20 us.
// Rule: a byte that came with an error, or after others were lost, is none of a frame.
#include <avr/interrupt.h>
#include <avr/io.h>

#include "../core/line/messages.h"
#include "../hal.h"
#include "nano.h"

#define RX_RING 64  // powers of two
#define TX_RING 128 // a full answer and a status behind it
#define SPOILT 0x01 // has no mark, so that the frame in which it stands is bad

static volatile uint8_t rx[RX_RING], tx[TX_RING];
static volatile uint8_t rx_in, rx_out, tx_in, tx_out;

// Of a byte that was lost, the data sheet says only that it was near the one that is read with the flag (DOR0).
ISR(USART_RX_vect)
{
    static bool lost; // the ring was full
    bool wrong = UCSR0A & (_BV(FE0) | _BV(DOR0)); // of the byte that is read next
    uint8_t byte = UDR0;
    uint8_t next = (rx_in + 1) % RX_RING;
    if (next == rx_out) {
        lost = true;
        return;
    }
    rx[rx_in] = wrong || lost ? SPOILT : byte;
    rx_in = next;
    lost = false;
}

ISR(USART_UDRE_vect)
{
    if (tx_in == tx_out) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
        return;
    }
    UDR0 = tx[tx_out];
    tx_out = (tx_out + 1) % TX_RING;
}

void uart_start(void)
{
    UCSR0A = _BV(U2X0); // before UBRR0: an emulator latches the rate there
    UBRR0 = F_CPU / 8 / BAUD - 1;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00); // 8N1
    UCSR0B = _BV(RXCIE0) | _BV(RXEN0) | _BV(TXEN0);
}

bool uart_waiting(void)
{
    return rx_in != rx_out;
}

bool hal_receive(uint8_t *byte)
{
    if (rx_in == rx_out) {
        return false;
    }
    *byte = rx[rx_out];
    rx_out = (rx_out + 1) % RX_RING;
    return true;
}

void hal_send(uint8_t byte)
{
    uint8_t next = (tx_in + 1) % TX_RING;
    while (next == tx_out) { // the interrupt makes room within 20 us
    }
    tx[tx_in] = byte;
    tx_in = next;
    uint8_t before = hal_lock();
    UCSR0B |= _BV(UDRIE0);
    hal_unlock(before);
}
