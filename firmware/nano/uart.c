// Serial line at 500 kbaud, both ways through rings; a byte takes 20 us.
#include <avr/interrupt.h>
#include <avr/io.h>

#include "../core/messages.h"
#include "../hal.h"
#include "nano.h"

#define RX_RING 64  // powers of two
#define TX_RING 128 // a full answer and a status behind it

static volatile uint8_t rx[RX_RING], tx[TX_RING];
static volatile uint8_t rx_in, rx_out, tx_in, tx_out;

ISR(USART_RX_vect)
{
    uint8_t byte = UDR0;
    uint8_t next = (rx_in + 1) % RX_RING;
    if (next != rx_out) { // full: the byte is lost, and its frame will be counted as bad
        rx[rx_in] = byte;
        rx_in = next;
    }
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
