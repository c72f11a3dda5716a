/* Thermometers on the 1-Wire line, each by itself, edge by edge: DS18B20 (family 28h) and DS18S20 (10h), with their own
 * supply. Datasheets 19-7487 and 19-5474: "Powering", "64-bit lasered ROM code", "Memory", "Function commands",
 * "1-Wire signaling". */
#ifndef DS18B20_H
#define DS18B20_H

#include <stdbool.h>
#include <stdint.h>

#define DS18B20_MAX 16U

/* Puts one on the line and gives its number. The first answers at the early end of each window, the last at its late
 * end. */
unsigned ds18b20_attach(const uint8_t rom[8]);

/* What it would measure from now on, sixteenths of a degree. */
void ds18b20_warm(unsigned number, int16_t sixteenths);

/* Off the line and without supply, or back. */
void ds18b20_take_off(unsigned number);
void ds18b20_put_back(unsigned number);

/* While it is damaged the CRC of what it sends is wrong. */
void ds18b20_damage(unsigned number, bool is_damaged);

/* Negative controls: every thermometer is off by so much; the CRC of number 0 is always wrong. */
extern int16_t ds18b20_error_sixteenths;
extern bool ds18b20_crc_is_wrong;

#endif
