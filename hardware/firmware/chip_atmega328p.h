/* All that is special to the ATmega328P: pins and the names of vectors. */
#ifndef CHIP_ATMEGA328P_H
#define CHIP_ATMEGA328P_H

/* PD2: 1-Wire, pull-up 1.5-4.7 kOhm to 5 V */
#define ONEWIRE_DDR DDRD
#define ONEWIRE_PORT PORTD
#define ONEWIRE_PIN PIND
#define ONEWIRE_BIT 2

/* PC4, PC5: I2C data and clock, pull-ups 2.2-4.7 kOhm to 5 V */
#define I2C_DDR DDRC
#define I2C_PORT PORTC
#define I2C_PIN PINC
#define I2C_SDA_BIT 4
#define I2C_SCL_BIT 5

/* PD4: button to ground, internal pull-up, pin change interrupt 20 */
#define BUTTON_DDR DDRD
#define BUTTON_PORT PORTD
#define BUTTON_PIN PIND
#define BUTTON_BIT 4
#define BUTTON_PCMSK PCMSK2
#define BUTTON_PCINT PCINT20
#define BUTTON_PCIE PCIE2
#define BUTTON_VECTOR PCINT2_vect

/* PD5: LED to ground through its resistor */
#define LED_DDR DDRD
#define LED_PORT PORTD
#define LED_BIT 5

/* PB3, OC2A: piezo to ground */
#define PIEZO_DDR DDRB
#define PIEZO_PORT PORTB
#define PIEZO_BIT 3

#define UART_UDRE_VECTOR USART_UDRE_vect
#define UART_RX_VECTOR USART_RX_vect

#endif
