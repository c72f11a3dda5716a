/* Written from src/carrier/wire/frames.ts (hardware/firmware/README.md says how); do not edit. */
#ifndef FRAMES_H
#define FRAMES_H

#define PROTOCOL_VERSION 1U
#define LINE_BYTES_MAX 128U
#define PROBES_MAX 16U
#define SCAN_ENTRIES_PER_LINE 8U
#define PROBE_ENTRIES_PER_LINE 4U

#define FRAME_BOOT 'B'
#define FRAME_PROBES 'P'
#define FRAME_SCAN 'S'
#define FRAME_HEARTBEAT 'H'

#define RESET_CAUSE_POWER_ON 'P'
#define RESET_CAUSE_BROWN_OUT 'N'
#define RESET_CAUSE_EXTERNAL 'E'
#define RESET_CAUSE_WATCHDOG 'W'
#define RESET_CAUSE_UNKNOWN 'U'

#define CLOCK_ABSENT 'A'
#define CLOCK_RUNNING 'R'
#define CLOCK_STOPPED 'S'

#define STATUS_OK '+'
#define STATUS_BAD_CRC 'C'
#define STATUS_ALL_ZERO 'Z'
#define STATUS_MISSING 'M'
#define STATUS_NOT_CONVERTED 'N'
#define STATUS_BAD_CONFIGURATION 'K'
#define STATUS_RESTARTED 'R'
#define STATUS_FIRST_CONVERSION 'F'

#endif
