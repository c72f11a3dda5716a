import { describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../../src/carrier/events.js';
import { assemble, NOTHING_KNOWN } from '../../../src/carrier/wire/assemble.js';
import { decodeLine } from '../../../src/carrier/wire/codec.js';
import { monotonicMs, utcMs } from '../../../src/units/time.js';
import { bootLine, framed, probesLine, ROMS } from './lines.js';

const arrival = { utc: utcMs(0), monotonic: monotonicMs(0) };

function said(...lines: string[]): CarrierEvent[] {
  let known = NOTHING_KNOWN;
  return lines.flatMap((line) => {
    const step = assemble(known, decodeLine(line), arrival, line.length + 2);
    known = step.known;
    return step.events;
  });
}
const kinds = (events: CarrierEvent[]) =>
  events.map((event) =>
    event.kind === 'discarded' ? event.reason : event.kind === 'link' ? event.detail : event.kind,
  );
const scan = (boot: number, sequence: number, table = 1) =>
  framed('S', boot, sequence, 10_000, `0${table}`, '00000001', '0+0191', '1M----');

describe('assemble()', () => {
  it('gives a scan its probes by slot index', () => {
    const events = said(bootLine(1, 0), probesLine(1, 1), scan(1, 2));
    expect(kinds(events)).toEqual(['boot', 'probes', 'scan']);
    expect(events[2]).toMatchObject({
      readings: [
        { index: 0, rom: ROMS[0], raw: 401, status: 'ok' },
        { index: 1, rom: ROMS[1], raw: null, status: 'missing' },
      ],
    });
  });

  it('says once who the board is, however often it repeats it', () => {
    expect(kinds(said(bootLine(1, 0), probesLine(1, 1), bootLine(1, 2), probesLine(1, 3)))).toEqual([
      'boot',
      'probes',
    ]);
  });

  it('believes nothing before a boot line', () => {
    expect(kinds(said(scan(1, 5), probesLine(1, 6), bootLine(1, 7)))).toEqual([
      'before-boot',
      'before-boot',
      'boot',
    ]);
  });

  it('forgets the table when the board restarts, even if the boot line is lost', () => {
    expect(kinds(said(bootLine(1, 0), probesLine(1, 1), scan(2, 2)))).toEqual([
      'boot',
      'probes',
      'before-boot',
    ]);
    expect(kinds(said(bootLine(1, 0), probesLine(1, 1), bootLine(2, 0), scan(2, 1)))).toEqual([
      'boot',
      'probes',
      'boot',
      'unknown-table',
    ]);
  });

  it('refuses a scan under a table it has not been told', () => {
    expect(kinds(said(bootLine(1, 0), probesLine(1, 1), scan(1, 2, 2)))).toEqual([
      'boot',
      'probes',
      'unknown-table',
    ]);
  });

  it('waits for every line of a table', () => {
    const half = (sequence: number, index: number) =>
      framed('P', 1, sequence, 40, '01', '02', `${index}.${ROMS[index]!.replaceAll('-', '')}`);
    expect(kinds(said(bootLine(1, 0), half(1, 0), scan(1, 2)))).toEqual(['boot', 'unknown-table']);
    expect(kinds(said(bootLine(1, 0), half(1, 0), half(2, 1), scan(1, 3)))).toEqual([
      'boot',
      'probes',
      'scan',
    ]);
  });

  it('counts lost lines, over the wrap of the sequence too', () => {
    expect(kinds(said(bootLine(1, 0xfffe), framed('H', 1, 1, 0)))).toEqual([
      'boot',
      '2 lines lost',
      'heartbeat',
    ]);
    expect(kinds(said(bootLine(1, 0xffff), framed('H', 1, 0, 0)))).toEqual(['boot', 'heartbeat']);
  });
});
