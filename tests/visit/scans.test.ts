import { describe, expect, it } from 'vitest';
import type { StoredReading } from '../../src/store/store.js';
import { parseBoardId } from '../../src/units/ids.js';
import { boardMs } from '../../src/units/time.js';
import { ProbeTraces, ScanGatherer } from '../../src/visit/scans.js';
import { minute, otherRom, rom } from './situation.js';

const [one, two] = ['0A1B2C3D', '0A1B2C3E'].map((id) => parseBoardId(id)!) as [never, never];
const reading = (scan: number, change: Partial<StoredReading> = {}): StoredReading => ({
  id: scan,
  rom,
  board: one,
  boot: 1,
  scan,
  slotIndex: 0,
  boardMs: boardMs(scan * 10_000),
  utc: minute(scan),
  raw: 320,
  status: 'ok',
  ...change,
});

describe('ScanGatherer', () => {
  it('gives a scan when the next one of its board begins, whole though it came in parts', () => {
    const gatherer = new ScanGatherer();
    expect(gatherer.add([reading(1)])).toEqual([]);
    expect(gatherer.add([reading(1, { rom: otherRom, raw: 336 })])).toEqual([]);
    const [scan] = gatherer.add([reading(2)]);
    expect(scan).toMatchObject({ at: minute(1), board: one });
    expect([...scan!.values]).toEqual([
      [rom, 20],
      [otherRom, 21],
    ]);
    expect(gatherer.isHolding).toBe(true);
    expect(gatherer.flush()).toHaveLength(1);
    expect(gatherer.flush()).toEqual([]);
    expect(gatherer.isHolding).toBe(false);
  });

  it('keeps boards and boots apart', () => {
    const gatherer = new ScanGatherer();
    expect(gatherer.add([reading(1), reading(1, { board: two })])).toEqual([]);
    expect(gatherer.add([reading(1, { boot: 2 })])).toHaveLength(1);
    expect(gatherer.flush().map(({ board }) => board)).toEqual([one, two]);
  });
});

describe('ProbeTraces', () => {
  it('keeps what is to be trusted, and knows the probes that send nothing else', () => {
    const gatherer = new ScanGatherer();
    const traces = new ProbeTraces();
    const scans = gatherer.add([
      reading(1),
      reading(1, { rom: otherRom, raw: null, status: 'missing' }),
      reading(2, { raw: 321 }),
      reading(3),
    ]);
    for (const scan of scans) traces.add(scan);
    expect(traces.byProbe.get(rom)!.map(({ celsius }) => celsius)).toEqual([20, 20.0625]);
    expect(traces.byProbe.get(otherRom)).toEqual([]);
    expect(traces.boards.get(otherRom)).toBe(one);
  });
});
