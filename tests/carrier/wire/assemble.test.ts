import { describe, expect, it } from 'vitest';
import type { CarrierEvent } from '../../../src/carrier/events.js';
import { assemble, NOTHING_KNOWN } from '../../../src/carrier/wire/assemble.js';
import { decodeLine } from '../../../src/carrier/wire/codec.js';
import { monotonicMs, utcMs } from '../../../src/units/time.js';
import { bootLine, framed, probesLine, ROMS } from './lines.js';
import { pageLines, scansPage } from './pages.js';

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

  it('counts a line that comes again as repeated, not as lost ones, and says so once', () => {
    const beat = (sequence: number) => framed('H', 1, sequence, sequence * 1000);
    const note = expect.stringMatching(/^a line came twice/);
    expect(kinds(said(bootLine(1, 0), beat(1), beat(1), scan(1, 2), scan(1, 2), beat(3)))).toEqual([
      'boot',
      'heartbeat',
      note,
      'repeated',
      'unknown-table',
      'repeated',
      'heartbeat',
    ]);
    expect(kinds(said(bootLine(1, 0), bootLine(1, 0), beat(1)))).toEqual([
      'boot',
      note,
      'repeated',
      'heartbeat',
    ]);
    // Several that come again in a row, over the wrap of the sequence too.
    expect(kinds(said(bootLine(1, 0xffff), beat(0), beat(1), beat(0), beat(1), beat(2)))).toEqual([
      'boot',
      'heartbeat',
      'heartbeat',
      note,
      'repeated',
      'repeated',
      'heartbeat',
    ]);
    // Nothing keeps 256 lines back: what is so far behind is another line, and many are missing.
    expect(kinds(said(bootLine(1, 0), beat(300), beat(45)))).toEqual([
      'boot',
      '299 lines lost',
      'heartbeat',
      note,
      'repeated',
    ]);
    expect(kinds(said(bootLine(1, 0), beat(300), beat(44)))).toEqual([
      'boot',
      '299 lines lost',
      'heartbeat',
      '65279 lines lost',
      'heartbeat',
    ]);
  });

  it('does not take for repeated what a board sends that counts anew', () => {
    const lines = [bootLine(1, 0), framed('H', 1, 5, 0), bootLine(1, 0), framed('H', 1, 1, 0)];
    expect(kinds(said(...lines))).toEqual(['boot', '4 lines lost', 'heartbeat', 'heartbeat']);
  });

  describe('with pages of the log', () => {
    const bytes = scansPage({
      page: 5,
      boot: 1,
      table: 1,
      firstMs: 10_000,
      firstScan: 1,
      periodSeconds: 20,
      scans: [[401, 'M']],
    });
    const parts = pageLines(bytes, 5, 1, 1);

    it('puts a page together from its parts', () => {
      const events = said(bootLine(1, 0), ...parts);
      expect(kinds(events)).toEqual(['boot', 'log-page']);
      expect(events[1]).toMatchObject({ page: 5, bytes });
    });

    it('counts a page of which a part is missing, and none of its bytes', () => {
      expect(kinds(said(bootLine(1, 0), ...parts.slice(1))).filter((kind) => kind !== '1 line lost')).toEqual(
        ['boot', 'damaged-page'],
      );
      expect(kinds(said(bootLine(1, 0), parts[0]!, parts[1]!, parts[3]!))).toEqual([
        'boot',
        '1 line lost',
        'damaged-page',
      ]);
      expect(kinds(said(bootLine(1, 0), parts[0]!, ...pageLines(bytes, 5, 1, 2)))).toEqual([
        'boot',
        'damaged-page',
        'log-page',
      ]);
    });

    it('counts a page that was damaged before it was framed', () => {
      const rotten = Uint8Array.from(bytes);
      rotten[40]! ^= 1;
      expect(kinds(said(bootLine(1, 0), ...pageLines(rotten, 5, 1, 1)))).toEqual(['boot', 'damaged-page']);
      // The same bytes under another number.
      expect(kinds(said(bootLine(1, 0), ...pageLines(bytes, 6, 1, 1)))).toEqual(['boot', 'damaged-page']);
    });

    it('lets other lines come between the parts', () => {
      const beat = framed('H', 1, 3, 0);
      const late = pageLines(bytes, 5, 1, 2).slice(2);
      expect(kinds(said(bootLine(1, 0), parts[0]!, parts[1]!, beat, ...late))).toEqual([
        'boot',
        'heartbeat',
        'log-page',
      ]);
    });
  });

  it('gives an answer to whoever asked, also before the board has said who it is', () => {
    const reply = framed('A', 1, 7, 0, 'I', '01', 'K');
    expect(kinds(said(reply))).toEqual(['answer']);
    expect(kinds(said(bootLine(1, 0), framed('A', 1, 2, 0, 'I', '01', 'K'), framed('H', 1, 3, 0)))).toEqual([
      'boot',
      '1 line lost',
      'answer',
      'heartbeat',
    ]);
  });

  it('says under which board and boot the other frames came', () => {
    expect(said(bootLine(1, 0), framed('W', 1, 1, 70, 'C', '0000'))[1]).toEqual({
      kind: 'warning',
      warning: 'clock-lost',
      detail: 0,
      arrival,
      boardMs: 70,
      board: '0A1B2C3D',
      bootCount: 1,
    });
    expect(kinds(said(framed('W', 1, 1, 70, 'C', '0000')))).toEqual(['before-boot']);
  });
});
