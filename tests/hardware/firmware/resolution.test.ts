import type { Thermometer } from '../../../src/emulator/thermometer.js';
import { Bench, type BenchOptions, crc8OfBits, ROMS } from '../../emulator/bench.js';
import { testRules } from './heldRules.js';

const [ROM] = ROMS;
/** 325 sixteenths at 12 bit, 320 at 9 bit. */
const CELSIUS = 20.3125;
/** As a user of other equipment may have left it: 9 bit. */
const COARSE = { th: 0x4b, tl: 0x46, configuration: 0x1f };

const oneProbe = (image: Partial<BenchOptions>) =>
  new Bench({ probes: [{ rom: ROM, celsius: CELSIUS, saved: COARSE }], ...image });
const seenBy = (bench: Bench) => bench.scans().map(({ of }) => `${of.get(ROM)?.status}${of.get(ROM)?.raw}`);

/** What a second master on the bus says to one thermometer. */
function tell(thermometer: Thermometer, ...bytes: readonly number[]): void {
  thermometer.reset();
  for (const byte of bytes)
    for (let bit = 0; bit < 8; bit += 1) thermometer.hears(((byte >> bit) & 1) as 0 | 1, 0);
}
/** Datasheet commands: Skip ROM, Write Scratchpad. */
const [SKIP_ROM, WRITE_SCRATCHPAD] = [0xcc, 0x4e];

testRules([
  {
    rule: 'a probe is set to 12 bit',
    seen: (image) => seenBy(oneProbe(image).run(26_000)),
    kept: ['F325', '+325', '+325'],
  },
  {
    rule: 'what a probe was set to is read back',
    seen: (image) => {
      const bench = oneProbe(image);
      const [thermometer] = bench.thermometers;
      // It restarts after it was set, just before it is read for the first time.
      thermometer!.garble = () => {
        thermometer!.garble = null;
        thermometer!.powerUp();
        const atPowerUp = [0x50, 0x05, COARSE.th, COARSE.tl, COARSE.configuration, 0xff, 0x0c, 0x10];
        return Uint8Array.of(...atPowerUp, crc8OfBits(atPowerUp));
      };
      return seenBy(bench.run(26_000));
    },
    kept: ['F325', '+325', '+325'],
  },
  {
    rule: 'a probe that is no longer at 12 bit is set again',
    seen: (image) => {
      const bench = oneProbe(image);
      const [thermometer] = bench.thermometers;
      let mark: readonly number[] = [];
      thermometer!.garble = (bytes) => {
        mark = [...bytes.subarray(2, 4)];
        return bytes;
      };
      bench.run(15_000);
      tell(thermometer!, SKIP_ROM, WRITE_SCRATCHPAD, ...mark, COARSE.configuration);
      return seenBy(bench.run(46_000));
    },
    kept: ['F325', '+325', 'K320', '+325', '+325'],
  },
]);
