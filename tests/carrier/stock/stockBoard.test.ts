import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { ByteWire } from '../../../src/carrier/byteWire.js';
import { analogRom } from '../../../src/carrier/stock/analogRom.js';
import { sevenBit } from '../../../src/carrier/stock/oneWireRequests.js';
import { type StockOptions, stockBoard } from '../../../src/carrier/stock/stockBoard.js';
import { parseBoardId, parseRomId, type RomId } from '../../../src/units/ids.js';
import { celsius, celsiusDifference } from '../../../src/units/temperature.js';
import { utcMs } from '../../../src/units/time.js';
import { ds18b20 } from '../host/scratchpads.js';
import { VirtualClock } from '../host/virtualClock.js';
import { Listening } from '../listening.js';
import { FirmataPeer, type PeerOptions } from './firmataPeer.js';

// ROM ids that check: published clone report, CC BY
const [one, two] = ['28-13-9B-BB-0B-00-00-1F', '28-CA-D6-10-10-00-00-FE'].map(
  (text) => parseRomId(text)!,
) as [RomId, RomId];

let clock: VirtualClock;
let peer: FirmataPeer;
let heard: Listening;
/** Ends of the wire that were opened, the last one being there now. */
let wires: { unplug: (why: string) => void; toHost: (bytes: Uint8Array) => void }[];
let isPluggedIn: boolean;

beforeEach(() => {
  clock = new VirtualClock(utcMs(Date.UTC(2026, 4, 12, 12)));
  wires = [];
  isPluggedIn = true;
  heard = new Listening(clock);
});
afterEach(async () => {
  await heard.end();
  vi.restoreAllMocks();
});

/** A wire to the peer without a port in between; opening it resets the board, as most boards are. */
function openWire(): Promise<ByteWire> {
  if (!isPluggedIn) return Promise.reject(new Error('no such file'));
  const closed: ((why: string) => void)[] = [];
  const data: ((bytes: Uint8Array) => void)[] = [];
  let isOpen = true;
  const close = (why: string) => {
    if (!isOpen) return;
    isOpen = false;
    for (const take of closed) take(why);
  };
  const toHost = (bytes: Uint8Array) => {
    if (isOpen) for (const take of data) take(bytes);
  };
  wires.push({ unplug: close, toHost });
  void clock.sleep(1_500 as never).then(() => peer.boot());
  return Promise.resolve({
    onData: (take) => void data.push(take),
    onClosed: (take) => void closed.push(take),
    write: (bytes) => void (isOpen && peer.receive(bytes as Uint8Array)),
    close,
  });
}
function begin(options: Partial<PeerOptions> = {}, settings: Partial<StockOptions> = {}): void {
  peer = new FirmataPeer({ clock, send: (bytes) => wires.at(-1)!.toHost(bytes), ...options });
  let boots = 0;
  const source = stockBoard({
    clock,
    path: '/dev/board',
    oneWirePins: [2],
    analog: [],
    nextBoot: () => {
      boots += 1;
      return boots;
    },
    open: openWire,
    ...settings,
  });
  void heard.begin(source);
}
const steady = (rom: RomId, sixteenths: number) => ({ rom, temperature: () => sixteenths });
const boots = () => heard.events.filter(({ kind }) => kind === 'boot').length;
/** The board boots 1.5 s after the opening, then three scans: about 2, 12 and 22 s. */
const threeScans = () => clock.run(Math.floor(clock.monotonic() / 30_000 + 1) * 30_000);

describe('stockBoard()', () => {
  it('reads the thermometers of a stock board, nine bytes each', async () => {
    begin({ probes: [steady(one, 400), steady(two, -8)] });
    await threeScans();
    expect(heard.readings(one)).toEqual(['first-conversion 400', 'ok 400', 'ok 400']);
    expect(heard.readings(two)).toEqual(['first-conversion -8', 'ok -8', 'ok -8']);
    expect(heard.events.find(({ kind }) => kind === 'boot')).toMatchObject({
      firmwareVersion: 'ConfigurableFirmata-2.10',
      clock: 'absent',
    });
    expect(heard.links('open')).toEqual(['/dev/board is open']);
    expect(heard.links('note')).toEqual([]);
  });

  it('takes a lost reply for a missing value, and goes on', async () => {
    begin({ probes: [steady(one, 400), steady(two, 410)] });
    await threeScans();
    peer.garble = (bytes, rom) => {
      if (rom === one) peer.loseReplies = 1;
      return bytes;
    };
    await clock.run(35_000);
    peer.garble = (bytes) => bytes;
    await threeScans();
    expect(heard.readings(one).slice(3)).toEqual(['missing null', 'first-conversion 400', 'ok 400']);
    expect(heard.readings(two).slice(3)).toEqual(['ok 410', 'ok 410', 'ok 410']);
    expect(boots()).toBe(1);
  });

  it('never takes a reply that comes late for another probe’s', async () => {
    begin({ probes: [steady(one, 400), steady(two, 100)] });
    await threeScans();
    for (let scan = 0; scan < 30; scan += 1) {
      peer.delayReply = true;
      await clock.pass(10_000);
    }
    expect(heard.readings(one).length).toBeGreaterThan(25);
    expect(heard.readings(one).every((each) => each.endsWith(' 400') || each === 'missing null')).toBe(true);
    expect(heard.readings(two).every((each) => each.endsWith(' 100') || each === 'missing null')).toBe(true);
  });

  it.each([
    ['a flipped bit', (bytes: number[]) => bytes.with(0, bytes[0]! ^ 1), 'bad-crc null'],
    ['nine zeros', () => new Array<number>(9).fill(0), 'all-zero null'],
    ['nine ones', () => new Array<number>(9).fill(255), 'missing null'],
    ['too few bytes', (bytes: number[]) => bytes.slice(0, 5), 'bad-crc null'],
  ])('takes %s for no observation', async (_, garble, expected) => {
    begin({ probes: [steady(one, 400)] });
    await threeScans();
    peer.garble = garble;
    await clock.run(35_000);
    expect(heard.readings(one).at(-1)).toBe(expected);
  });

  it('finds a probe that restarted, whatever value it woke with', async () => {
    begin({ probes: [steady(one, 400), steady(two, 410)] });
    await threeScans();
    // In the midst of a conversion: the scan at 32 s reads at 33 s. Two families of clones wake with 25.0 degC.
    await clock.run(32_300);
    peer.restartProbe(one);
    peer.restartProbe(two, ds18b20(400));
    await threeScans();
    expect(heard.readings(one).slice(3)).toEqual(['not-converted 1360', 'first-conversion 400', 'ok 400']);
    expect(heard.readings(two).slice(3)).toEqual(['restarted 400', 'first-conversion 410', 'ok 410']);
  });

  it('sees a restart of the board, and begins a new epoch at once', async () => {
    begin({ probes: [steady(one, 400)] });
    await threeScans();
    peer.boot();
    await clock.run(36_000);
    expect(heard.links('note')).toEqual(['the board has restarted']);
    expect(boots()).toBe(2);
    expect(heard.readings(one).slice(3)).toEqual(['first-conversion 400']);
    await threeScans();
    expect(heard.readings(one).slice(4)).toEqual(['ok 400', 'ok 400']);
  });

  it('throws away a scan in the midst of which the board restarted', async () => {
    begin({ probes: [steady(one, 400)] });
    await threeScans();
    await clock.run(32_300);
    const before = heard.scans().length;
    peer.boot();
    await clock.run(33_300);
    expect(heard.scans()).toHaveLength(before);
    await clock.run(36_000);
    expect(heard.readings(one).at(-1)).toBe('first-conversion 400');
  });

  it('opens the port again after it was unplugged, with longer and longer waits', async () => {
    begin({ probes: [steady(one, 400)] });
    await threeScans();
    isPluggedIn = false;
    wires.at(-1)!.unplug('the board was unplugged');
    await clock.run(120_000);
    expect(heard.links('closed')).toEqual(['/dev/board: the board was unplugged']);
    isPluggedIn = true;
    await clock.run(150_000);
    expect(heard.links('open')).toHaveLength(2);
    expect(boots()).toBe(2);
    expect(heard.readings(one).at(-1)).toMatch(/ 400$/);
  });

  it('says that a board falls silent, and opens it again', async () => {
    begin({ probes: [steady(one, 400)] });
    await threeScans();
    peer.off();
    await clock.run(100_000);
    expect(heard.links('closed')[0]).toBe('/dev/board: no data for 25 seconds; opening it again');
    expect(heard.links('open').length).toBeGreaterThan(1);
  });

  it.each([
    ['nothing', () => {}, 'says nothing'],
    [
      'something else',
      (send: (bytes: Uint8Array) => void) => send(Buffer.from('$GPGGA,123519,4807.038,N\r\n'.repeat(9))),
      'does not speak Firmata: ',
    ],
    [
      'a message without an end',
      (send: (bytes: Uint8Array) => void) => {
        send(Uint8Array.of(0xf0));
        for (let part = 0; part < 100; part += 1) send(new Uint8Array(100).fill(0x55));
      },
      'sent a message without an end',
    ],
  ])('says so when there is %s at the other end, and waits longer each time', async (_, speak, why) => {
    begin();
    peer.boot = () => speak((bytes) => wires.at(-1)!.toHost(bytes));
    peer.off();
    await clock.run(300_000);
    expect(heard.links('closed').length).toBeGreaterThan(3);
    for (const each of heard.links('closed')) expect(each).toContain(`/dev/board: ${why}`);
    // At most one opening in ten seconds once it has failed a few times.
    expect(wires.length).toBeLessThan(35);
    expect(boots()).toBe(0);
  });

  it('lives through any bytes', async () => {
    begin({ probes: [steady(one, 400)] });
    await threeScans();
    let state = 1;
    const noise = Uint8Array.from({ length: 20_000 }, () => {
      state = (state * 1_103_515_245 + 12_345) & 0x7fffffff;
      return (state >> 16) & 0xff;
    });
    wires.at(-1)!.toHost(noise);
    await clock.run(200_000);
    expect(heard.readings(one).slice(-2)).toEqual(['ok 400', 'ok 400']);
    expect(heard.readings(one).every((each) => each.endsWith(' 400') || each === 'missing null')).toBe(true);
  });

  it('names the program that is needed when the board cannot read 1-Wire', async () => {
    begin({ hasOneWire: false, name: 'StandardFirmata.ino' });
    await threeScans();
    expect(heard.links('note')).toEqual([
      "the board's program cannot read 1-Wire on pin 2; write ConfigurableFirmata with its OneWire part",
    ]);
  });

  it('leaves out ids that are damaged or of another family', async () => {
    begin({ probes: [steady(one, 400)] });
    // The library says so, too.
    vi.spyOn(console, 'error').mockImplementation(() => {});
    // 22h: DS1822; the CRC of the other one is wrong
    peer.ghosts = [
      [0x28, 1, 2, 3, 4, 5, 6, 7],
      [0x22, 0, 0, 0, 0, 0, 0, 0x28],
    ];
    await threeScans();
    expect(heard.events.filter((event) => event.kind === 'probes').map(({ probes }) => probes)).toEqual([
      [{ index: 0, rom: one }],
    ]);
    expect(heard.events.filter(({ kind }) => kind === 'discarded').length).toBeGreaterThan(0);
  });

  it('finds a probe that is plugged in later, and keeps one that is pulled out as missing', async () => {
    begin({ probes: [steady(one, 400)] });
    await threeScans();
    peer.plugIn(steady(two, 410));
    peer.pullOut(one);
    await threeScans();
    expect(heard.readings(one).slice(3)).toEqual(['missing null', 'missing null', 'missing null']);
    expect(heard.readings(two)).toEqual(['first-conversion 410', 'ok 410', 'ok 410']);
  });
});

describe('stockBoard() with analog inputs', () => {
  const input = (channel: number) => ({
    channel,
    toCelsius: (count: number, bits: number) => celsius((count / 2 ** bits) * 100),
    uncertainty: (bits: number) => celsiusDifference(100 / 2 ** bits),
  });

  it('reads them with the conversion it was given, and tells their uncertainty', async () => {
    begin({ bits: 12, analog: { 0: () => 1024 } }, { oneWirePins: [], analog: [input(0)] });
    await threeScans();
    const [table] = heard.events.filter((event) => event.kind === 'probes');
    expect(table!.probes).toEqual([{ index: 0, rom: analogRom(table!.board, 0), uncertainty: 100 / 4096 }]);
    expect(heard.readings(table!.probes[0]!.rom)).toEqual(['missing null', 'first-conversion 400', 'ok 400']);
    expect(peer.seen).toEqual(['sampling 200', 'report 0 true']);
  });

  it('takes the ends of the scale and an input that sends nothing any more for missing', async () => {
    let count: number | undefined = 512;
    begin({ analog: { 0: () => count as number } }, { oneWirePins: [2], analog: [input(0)] });
    await threeScans();
    const rom = heard.events.find((event) => event.kind === 'probes')!.probes[0]!.rom;
    expect(heard.readings(rom).at(-1)).toBe('ok 800');
    for (const [value, expected] of [
      [0, 'missing null'],
      [1023, 'missing null'],
      [512, 'ok 800'],
      [undefined, 'missing null'],
    ] as const) {
      count = value;
      // The scan after next: values of the last two seconds count.
      await clock.pass(20_000);
      expect(heard.readings(rom).at(-1)).toBe(expected);
    }
  });

  it('takes the median, so that one wild value does nothing', async () => {
    let times = 0;
    const wild = () => {
      times += 1;
      return times % 5 === 0 ? 900 : 512;
    };
    begin({ analog: { 3: wild } }, { oneWirePins: [], analog: [input(3)] });
    await threeScans();
    const rom = heard.events.find((event) => event.kind === 'probes')!.probes[0]!.rom;
    expect(heard.readings(rom).at(-1)).toBe('ok 800');
  });

  it('says that an input is not there', async () => {
    begin({}, { analog: [input(9)] });
    await threeScans();
    expect(heard.links('note')).toEqual(['the board has no analog input A9; left out']);
  });
});

describe('sevenBit()', () => {
  it.each([
    // published text: data[0] = byte[0] + byte[1]<<7, data[1] = byte[1]>>1 + byte[2]<<6; by hand
    [[0x44], [0x44, 0x00]],
    [[0xff], [0x7f, 0x01]],
    [
      [0x80, 0x01],
      [0x00, 0x03, 0x00],
    ],
    [new Array<number>(7).fill(0xff), new Array<number>(8).fill(0x7f)],
  ])('packs %s', (bytes, packed) => {
    expect(sevenBit(bytes)).toEqual(packed);
  });
});

describe('analogRom()', () => {
  it('is an id like any other, of a family that no chip has', () => {
    const rom = analogRom(parseBoardId('0A1B2C3D')!, 5);
    expect(rom).toMatch(/^A0-0A-1B-2C-3D-00-05-/);
    expect(parseRomId(rom)).toBe(rom);
  });
});
