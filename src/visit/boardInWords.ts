const RESETS: Readonly<Record<string, string>> = {
  'power-on': 'its supply was switched on',
  'brown-out': 'its supply had sagged',
  external: 'its reset was pulled, by the button or a host that opened the port',
  watchdog: 'its program had hung',
  unknown: 'for a reason it does not know',
};

const CLOCKS: Readonly<Record<string, string>> = {
  absent: 'no clock answers',
  running: 'its clock runs',
  stopped: 'its clock had lost its time',
};

/** Why a board started. */
export const resetInWords = (cause: string): string => RESETS[cause] ?? cause;
/** What a board said of its clock when it started. */
export const clockStateInWords = (state: string): string => CLOCKS[state] ?? state;

/** What a board warned of: the meaning of `detail` hangs on the warning. `probe` names the one it tells of, where it is known. */
export function warningInWords(
  warning: string,
  detail: number,
  probe = `probe ${detail} of its table`,
): string {
  const words: Readonly<Record<string, string>> = {
    'log-nearly-full': `its log was nearly full: room for ${detail} pages before unread ones are lost`,
    'log-overwritten': `${detail} pages of its log were overwritten that no host had read: they are lost`,
    'memory-lost': 'its memory does not answer: only what its RAM holds could be read',
    'memory-back': 'its memory answered again',
    'clock-lost': 'its clock does not answer',
    'probe-lost': `${probe} stopped answering`,
  };
  return words[warning] ?? `warned: ${warning} (${detail})`;
}
