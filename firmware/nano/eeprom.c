// EEPROM bytes, by polling: a write takes 3.4 ms.
#include <avr/eeprom.h>

#include "../hal.h"

static uint8_t *at(uint16_t address)
{
    return (uint8_t *)(uintptr_t)address;
}

uint8_t hal_eeprom_read(uint16_t address)
{
    return eeprom_read_byte(at(address));
}

void hal_eeprom_write(uint16_t address, uint8_t value)
{
    eeprom_write_byte(at(address), value);
}
