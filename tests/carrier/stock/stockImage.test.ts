import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { ByteWire } from '../../../src/carrier/byteWire.js';
import { stockBoard } from '../../../src/carrier/stock/stockBoard.js';
import { analogInput, analogSchema } from '../../../src/cli/logging/analogSettings.js';
import { seconds, utcMs } from '../../../src/units/time.js';
import { VirtualClock } from '../host/virtualClock.js';
import { Listening } from '../listening.js';
import { StockImageBoard, whyNoStockImage } from './stockImage.js';

/** The published StandardFirmata itself, at the far end of a wire in simulated time. It knows no 1-Wire. */
const STEP_MS = 10;
const tmp36 = (channel: number) => analogInput(analogSchema.parse({ part: 'TMP36', channel }));

let clock: VirtualClock;
let board: StockImageBoard;
let heard: Listening;
beforeEach(() => {
  clock = new VirtualClock(utcMs(Date.UTC(2026, 4, 12, 12)));
  heard = new Listening(clock);
});
afterEach(() => heard.end());

function openWire(): Promise<ByteWire> {
  const closed: ((why: string) => void)[] = [];
  const data: ((bytes: Uint8Array) => void)[] = [];
  board = new StockImageBoard((bytes) => {
    for (const take of data) take(bytes);
  });
  return Promise.resolve({
    onData: (take) => void data.push(take),
    onClosed: (take) => void closed.push(take),
    write: (bytes) => board.receive(bytes as Uint8Array),
    close: (why) => {
      for (const take of closed.splice(0)) take(why);
    },
  });
}
async function begin(): Promise<void> {
  const source = stockBoard({
    clock,
    path: '/dev/board',
    oneWirePins: [2],
    analog: [tmp36(0), tmp36(3)],
    period: seconds(1),
    nextBoot: () => 1,
    open: openWire,
  });
  await heard.begin(source);
}
/** Runs board and host in step until something is so. */
async function until(isSo: () => boolean, limitMs = 30_000): Promise<void> {
  for (const end = clock.monotonic() + limitMs; !isSo() && clock.monotonic() < end; ) {
    board.run(STEP_MS);
    await clock.pass(STEP_MS);
  }
  expect(isSo()).toBe(true);
}
const readings = (index: number) =>
  heard.scans().flatMap((scan) => scan.readings.filter((each) => each.index === index).map(({ raw }) => raw));

describe.skipIf(whyNoStockImage())(`stockBoard() with the published image ${whyNoStockImage() ?? ''}`, () => {
  it('reads its analog inputs, says that it has no 1-Wire, and notices that it restarts', async () => {
    await begin();
    // 10 mV/degC, 750 mV at 25 degC: TMP36 datasheet. A0 at 30 degC, A3 at -5 degC.
    board.volts[0] = 0.8;
    board.volts[3] = 0.45;
    await until(() => readings(0).length >= 3 && readings(1).length >= 3);
    expect(heard.events.find(({ kind }) => kind === 'boot')).toMatchObject({
      firmwareVersion: expect.stringMatching(/^StandardFirmata-2\.\d+$/),
    });
    // One count of 1024 at 5 V is 0.49 degC: within half of that, and half of a sixteenth.
    const within = 0.25 + 1 / 32;
    expect(Math.abs(readings(0).at(-1)! / 16 - 30)).toBeLessThanOrEqual(within);
    expect(Math.abs(readings(1).at(-1)! / 16 + 5)).toBeLessThanOrEqual(within);
    expect(heard.links('note').join()).toMatch(/1-Wire|OneWire/);

    board.volts[0] = 0.75;
    const before = readings(0).length;
    await until(() => readings(0).length >= before + 4);
    expect(Math.abs(readings(0).at(-1)! / 16 - 25)).toBeLessThanOrEqual(within);
    // Negative control: at the end of the scale a wire is broken or shorted.
    board.volts[0] = 0;
    await until(() => readings(0).at(-1) === null);
    board.volts[0] = 0.75;

    board.reset();
    await until(() => heard.links('note').includes('the board has restarted'));
    const then = readings(1).length;
    await until(() => readings(1).length >= then + 2 && readings(1).at(-1) !== null);
    expect(Math.abs(readings(1).at(-1)! / 16 + 5)).toBeLessThanOrEqual(within);
  });
});
