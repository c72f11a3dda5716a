/* All that is special to the ATmega2560: pins and the names of vectors. It is built, and has run nowhere. */
#ifndef CHIP_ATMEGA2560_H
#define CHIP_ATMEGA2560_H

/* PA0: 1-Wire, pull-up 1.5-4.7 kOhm to 5 V */
#define ONEWIRE_DDR DDRA
#define ONEWIRE_PORT PORTA
#define ONEWIRE_PIN PINA
#define ONEWIRE_BIT 0

/* PD1, PD0: I2C data and clock, pull-ups 2.2-4.7 kOhm to 5 V */
#define I2C_DDR DDRD
#define I2C_PORT PORTD
#define I2C_PIN PIND
#define I2C_SDA_BIT 1
#define I2C_SCL_BIT 0

/* PB6: button to ground, internal pull-up, pin change interrupt 6 */
#define BUTTON_DDR DDRB
#define BUTTON_PORT PORTB
#define BUTTON_PIN PINB
#define BUTTON_BIT 6
#define BUTTON_PCMSK PCMSK0
#define BUTTON_PCINT PCINT6
#define BUTTON_PCIE PCIE0
#define BUTTON_VECTOR PCINT0_vect

/* PB7: LED to ground through its resistor */
#define LED_DDR DDRB
#define LED_PORT PORTB
#define LED_BIT 7

/* PB4, OC2A: piezo to ground */
#define PIEZO_DDR DDRB
#define PIEZO_PORT PORTB
#define PIEZO_BIT 4

#define UART_UDRE_VECTOR USART0_UDRE_vect
#define UART_RX_VECTOR USART0_RX_vect

#endif
