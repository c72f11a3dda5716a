import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { decodeLine } from '../../src/carrier/wire/codec.js';
import {
  CLOCK_STATES,
  COMMANDS,
  FRAMES,
  LINE_BYTES_MAX,
  LOG_STORES,
  PROBE_ENTRIES_PER_LINE,
  PROBE_STATUSES,
  PROTOCOL_VERSION,
  RESET_CAUSES,
  RESULTS,
  SCAN_ENTRIES_PER_LINE,
  WARNINGS,
} from '../../src/carrier/wire/frames.js';
import { crc16 } from '../emulator/bench.js';

const page = readFileSync(new URL('../../docs/wire-protocol.md', import.meta.url), 'utf8');

/** Name and letter of each row of the table under `heading`. */
function lettersUnder(heading: string, text = page): Record<string, string> {
  const section = text.split(/^## /m).find((part) => part.startsWith(`${heading}\n`)) ?? '';
  return Object.fromEntries(
    [...section.matchAll(/^\| ([a-zA-Z-]+) \| `(.)` \|/gm)].map(([, name, code]) => [name, code]),
  );
}

describe('docs/wire-protocol.md has the letters of the table', () => {
  const letters = (table: Readonly<Record<string, { readonly code: string }>>) =>
    Object.fromEntries(Object.entries(table).map(([name, { code }]) => [name, code]));
  test.each([
    ['Frames', letters(FRAMES)],
    ['Commands', { ...letters(COMMANDS), ...RESULTS }],
    ['Places of the log', LOG_STORES],
    ['Warnings', WARNINGS],
    ['Reset causes', RESET_CAUSES],
    ['Clock states', CLOCK_STATES],
    ['Statuses of a reading', PROBE_STATUSES],
  ])('%s', (heading, codes) => {
    expect(lettersUnder(heading)).toEqual(codes);
  });

  test('and a letter that was changed on the page shows (negative control)', () => {
    expect(
      lettersUnder('Reset causes', page.replace('| watchdog | `W` |', '| watchdog | `X` |')),
    ).not.toEqual(RESET_CAUSES);
  });
});

test('docs/wire-protocol.md has the fields and numbers of the table', () => {
  for (const { fields } of [...Object.values(FRAMES), ...Object.values(COMMANDS)])
    if (fields !== '') expect(page).toContain(`| ${fields.split(',').join(', ')} |`);
  expect(page).toContain(`protocol version ${PROTOCOL_VERSION}.`);
  expect(page).toMatch(new RegExp(`at\\s+most ${LINE_BYTES_MAX} bytes`));
  expect(page).toContain(`At most ${PROBE_ENTRIES_PER_LINE} entries a line; lines follow`);
  expect(page).toContain(`At most ${SCAN_ENTRIES_PER_LINE} entries a line; the lines`);
});

describe('the example lines of docs/wire-protocol.md', () => {
  /** Letter, what the CRC is of, and the CRC, of each line that begins with `mark`. */
  const examples = (mark: '$' | '!') =>
    [...page.matchAll(/^([$!])((.),[^*]*)\*([0-9A-F]{4})$/gm)]
      .filter(([, first]) => first === mark)
      .map(([, , body = '', letter = '', crc = '']) => ({ letter, body, crc }));
  const crcOf = (body: string) => crc16(body).toString(16).toUpperCase().padStart(4, '0');

  test('have right CRCs', () => {
    for (const { body, crc } of [...examples('$'), ...examples('!')]) expect(crcOf(body), body).toBe(crc);
  });

  test('show every frame, some commands, and are what the host understands', () => {
    const letters = (table: object) => Object.values(table).map(({ code }: { code: string }) => code);
    expect(new Set(examples('$').map(({ letter }) => letter))).toEqual(new Set(letters(FRAMES)));
    expect(examples('!').length).toBeGreaterThan(2);
    for (const { letter } of examples('!')) expect(letters(COMMANDS)).toContain(letter);
    for (const { body, crc } of examples('$'))
      expect(decodeLine(`$${body}*${crc}`), body).not.toMatchObject({ kind: 'discarded' });
  });

  test('are found out when a digit of one is wrong (negative control)', () => {
    const [{ body, crc }] = examples('$') as [ReturnType<typeof examples>[number]];
    expect(crcOf(body.replace('R', 'S'))).not.toBe(crc);
    expect(decodeLine(`$${body.replace('R', 'S')}*${crc}`)).toMatchObject({ kind: 'discarded' });
  });
});
