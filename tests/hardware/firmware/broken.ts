import { type Build, buildChanged, type Change } from './build.js';

/** Rules of the firmware, and the change to its source that breaks each: some test must find that image out. */
const BREAKS = {
  'a thermometer is believed with its CRC only': {
    file: 'thermometer.c',
    from: 'onewire_crc8(pad, SCRATCHPAD_BYTES) != 0U',
    to: 'false',
  },
  'nine zeros are no scratchpad': { file: 'thermometer.c', from: 'all_are(pad, 0x00U)', to: 'false' },
  'a probe that restarted shows by its mark': {
    file: 'thermometer.c',
    from: 'pad[TH] == mark_th && pad[TL] == mark_tl',
    to: '(pad[TH] == mark_th && pad[TL] == mark_tl) || pad != 0',
  },
  'what a probe holds before its first conversion is no temperature': {
    file: 'thermometer.c',
    from: 'pad[COUNT_REMAIN] == REMAIN_AT_POWER_UP &&',
    to: 'pad == 0 &&',
  },
  'a probe that is not at 12 bit is not believed': {
    file: 'thermometer.c',
    from: 'rom[0] != DS18S20 && pad[CONFIGURATION] != CONFIGURATION_12_BIT',
    to: 'false',
  },
  'a probe is set to 12 bit': {
    file: 'thermometer.c',
    from: 'if (rom[0] != DS18S20) onewire_write(CONFIGURATION_12_BIT);',
    to: '',
  },
  'what a probe was set to is read back': {
    file: 'thermometer.c',
    from: 'if (is_marked(back) && (rom[0] == DS18S20 || back[CONFIGURATION] == CONFIGURATION_12_BIT)) break;',
    to: 'break;',
  },
  'a probe that is no longer at 12 bit is set again': {
    file: 'probes.c',
    from: 'case STATUS_BAD_CONFIGURATION:\n            (void)thermometer_configure(roms[index]);',
    to: 'case STATUS_BAD_CONFIGURATION:',
  },
  'the first conversion after a restart is told apart': {
    file: 'probes.c',
    from: 'case STATUS_NOT_CONVERTED:\n            fresh |= bit;',
    to: 'case STATUS_NOT_CONVERTED:',
  },
  'a conversion is waited for': {
    file: 'scanner.c',
    from: 'started_ms + THERMOMETER_CONVERSION_MS',
    to: 'started_ms + THERMOMETER_CONVERSION_MS - 200U',
  },
  'what was acknowledged stays so': {
    file: 'log.c',
    from: 'if (page > acknowledged) acknowledged = page;',
    to: 'acknowledged = page;',
  },
  'a page is believed with its CRC only': {
    file: 'page.c',
    from: 'return crc == told;',
    to: 'return (void)crc, (void)told, true;',
  },
  'a page holds scans in its rhythm only': {
    file: 'log.c',
    from: 'JITTER_MS 500',
    to: 'JITTER_MS 5000',
  },
  'the log warns before it overwrites what no host has': {
    file: 'log.c',
    from: 'if (ring_store() != LOG_STORE_MEMORY) return;\n    if (lost',
    to: 'return;\n    if (lost',
  },
  'a command is obeyed with its CRC only': {
    file: 'commands.c',
    from: 'return crc == told',
    to: 'return true',
  },
  'a command that is too long is cut off': {
    file: 'commands.c',
    from: 'if (length < sizeof text) text',
    to: 'if (length < 0xFFU) text',
  },
  'a turn of the loop takes one command': {
    file: 'commands.c',
    from: 'is_too_long = false;\n        return true;',
    to: 'is_too_long = false;',
  },
  'what is refused is no host': {
    file: 'commands.c',
    from: 'if (result != 0 && result != RESULT_DONE) return;',
    to: '',
  },
  'a search that is asked for is made at once': {
    file: 'commands.c',
    from: 'scanner_search_now();',
    to: '',
  },
  'the periods that a host set are kept to': {
    file: 'scanner.c',
    from: 'settings_period_with_host() : settings_period_alone()',
    to: 'PERIOD_WITH_HOST_SECONDS : PERIOD_ALONE_SECONDS',
  },
  'a probe that is lost again is told again': {
    file: 'probes.c',
    from: 'else missing &= (uint16_t)~bit;',
    to: 'else (void)bit;',
  },
  'leap days are counted': {
    file: 'rtc.c',
    from: ' + (month == 1U && year % 4U == 0U ? 1U : 0U)',
    to: ' + year * 0U',
  },
  'a memory may take ten milliseconds to write': {
    file: 'memory.c',
    from: 'POLLS_MAX 75U',
    to: 'POLLS_MAX 10U',
  },
  'a host that is silent for a minute is forgotten': {
    file: 'commands.c',
    from: '>= HOST_SILENCE_SECONDS * 1000UL',
    to: '>= 0xFFFFFFFFUL',
  },
  'settings of a slot are believed with their CRC only': {
    file: 'settings.c',
    from: 'if (record.crc != crc_of(&record, sizeof record - 1U)) return false;',
    to: 'if (record.slot.rom[0] == 0xFFU) return false;',
  },
  'periods are believed with their CRC only': {
    file: 'settings.c',
    from: 'if (kept.crc != crc_of(&kept, sizeof kept - 1U))',
    to: 'if (kept.with_host == 0xFFU)',
  },
  'times are compared across the wrap of the counter': {
    file: 'clock.c',
    from: '(int32_t)(now - at) >= 0',
    to: 'now >= at',
  },
  'the wait for the clock line of I2C ends': { file: 'i2c.c', from: 'i < RISE_TRIES', to: 'true' },
  'a data line that a chip holds is clocked free': {
    file: 'i2c.c',
    from: 'i < clocks_allowed && !sda_is_high()',
    to: 'false && !sda_is_high()',
  },
  'a clock chip that once stopped is not believed': {
    file: 'rtc.c',
    from: 'if (status & STATUS_OSCILLATOR_STOPPED) return RTC_STOPPED;',
    to: '',
  },
  'a clock chip that is lost is told': {
    file: 'calendar.c',
    from: 'report_warning(WARNING_CLOCK_LOST, 0);',
    to: '',
  },
  'the heartbeat leaves room for what may hold up a line': {
    file: 'report.c',
    from: 'HEARTBEAT_PERIOD_MS 500UL',
    to: 'HEARTBEAT_PERIOD_MS 800UL',
  },
  'a boot begins a line of its own': {
    file: 'main.c',
    from: "    uart_put('\\r');\n    uart_put('\\n');\n",
    to: '',
  },
  'what is too hot is an alarm': {
    file: 'alarms.c',
    from: '(slot->hot != LIMIT_NONE && sixteenths + margin > (int16_t)slot->hot)',
    to: 'false',
  },
  'an alarm ends well inside the limit only': {
    file: 'alarms.c',
    from: 'was_past ? HYSTERESIS_SIXTEENTHS : 0',
    to: '(int16_t)was_past * 0',
  },
  'a reading that is none raises no alarm': {
    file: 'alarms.c',
    from: 'reading->status != STATUS_OK',
    to: '!reading->has_raw',
  },
  'a reading that is none ends no alarm': {
    file: 'alarms.c',
    from: 'reading->status != STATUS_OK) continue;',
    to: 'reading->status != STATUS_OK) { now &= (uint16_t)~bit; continue; }',
  },
  'other limits end an alarm': { file: 'commands.c', from: 'alarms_forget(index);', to: '' },
  'a new alarm ends the muting': {
    file: 'alarms.c',
    from: 'if (has_new || (act',
    to: 'if ((void)has_new, (act',
  },
  'contacts may bounce': { file: 'button.c', from: 'BOUNCE_MS 30UL', to: 'BOUNCE_MS 1UL' },
  'marks are believed with their CRC only': {
    file: 'marks.c',
    from: 'record.crc == crc_of(&record) && record.mark.boot <= boot_count()',
    to: 'record.mark.boot <= boot_count()',
  },
  'a mark is of a boot that has been': {
    file: 'marks.c',
    from: ' && record.mark.boot <= boot_count()',
    to: '',
  },
  'marks are told in their order': {
    file: 'marks.c',
    from: '(next_place + MARKS_MAX - left_to_send) % MARKS_MAX',
    to: '(MARKS_MAX - left_to_send) % MARKS_MAX',
  },
  'marks are numbered on from the newest': {
    file: 'marks.c',
    from: 'if (any && (int8_t)(mark.number - next_number) < 0) continue;',
    to: '(void)any;',
  },
  'a setting of the clock is counted': {
    file: 'calendar.c',
    from: 'settings_count_clock_set();',
    to: '',
  },
  'the count of settings is kept': {
    file: 'calendar.c',
    from: 'settings_count_clock_set();\n    sets = settings_clock_sets();',
    to: 'sets++;',
  },
  'a setting is counted before it is made': {
    file: 'calendar.c',
    from: 'settings_count_clock_set();\n    sets = settings_clock_sets();\n    return rtc_set(utc);',
    to: 'bool taken = rtc_set(utc);\n    settings_count_clock_set();\n    sets = settings_clock_sets();\n    return taken;',
  },
  'a count of settings is believed with its CRC only': {
    file: 'settings.c',
    from: 'return kept.crc == crc_of(&kept, sizeof kept - 1U);\n}\n\nuint8_t settings_clock_sets',
    to: 'return kept.count != 0xFFU || kept.crc != 0xFFU;\n}\n\nuint8_t settings_clock_sets',
  },
  'a mark bears no time that the chip did not tell': {
    file: 'marks.c',
    from: 'calendar_state() == CLOCK_RUNNING ? calendar_utc(at_ms) : 0UL',
    to: 'calendar_utc(at_ms)',
  },
  'a setting has a table page before the next scan': {
    file: 'log.c',
    from: ' && logged_sets == calendar_sets()',
    to: '',
  },
} as const satisfies Readonly<Record<string, Change>>;

export type FirmwareRule = keyof typeof BREAKS;
export const FIRMWARE_RULES = Object.keys(BREAKS) as FirmwareRule[];

/** The image that breaks one rule and keeps all others. */
export const broken = (rule: FirmwareRule, ...settings: string[]): Build =>
  buildChanged(BREAKS[rule], settings);
