/* Images that break one rule, for the test bench, which must find each of them out: `make BREAK=CRC` and so on. All of
 * them are 0 in the image that is used, and cost it nothing. */
#ifndef BROKEN_H
#define BROKEN_H

/* Thermometers are believed without their CRC. */
#ifndef BREAK_CRC
#define BREAK_CRC 0
#endif

/* No mark is asked for. */
#ifndef BREAK_MARK
#define BREAK_MARK 0
#endif

/* Pages are believed without their CRC, in the memory as in RAM. */
#ifndef BREAK_PAGE_CRC
#define BREAK_PAGE_CRC 0
#endif

/* The wait for the clock line of I2C has no end. */
#ifndef BREAK_I2C_WAIT
#define BREAK_I2C_WAIT 0
#endif

/* A data line that a chip holds is not clocked free. */
#ifndef BREAK_I2C_RECOVERY
#define BREAK_I2C_RECOVERY 0
#endif

/* No warning before the log overwrites what no host has. */
#ifndef BREAK_LOG_WARNING
#define BREAK_LOG_WARNING 0
#endif

/* Commands are obeyed without their CRC. */
#ifndef BREAK_COMMAND_CRC
#define BREAK_COMMAND_CRC 0
#endif

/* Nine zeros are taken for a scratchpad: their CRC is right. */
#ifndef BREAK_ALL_ZERO
#define BREAK_ALL_ZERO 0
#endif

/* What a thermometer holds before its first conversion is taken for a temperature. */
#ifndef BREAK_NOT_CONVERTED
#define BREAK_NOT_CONVERTED 0
#endif

/* Times are compared as if the counter never came round. */
#ifndef BREAK_WRAP
#define BREAK_WRAP 0
#endif

/* The heartbeat leaves too little room for what may hold up a line. */
#ifndef BREAK_HEARTBEAT
#define BREAK_HEARTBEAT 0
#endif

/* A boot begins no line of its own. */
#ifndef BREAK_NEWLINE
#define BREAK_NEWLINE 0
#endif

#endif
