import type { FirmwarePins, PinFunction } from './firmwarePins.js';
import { reachable } from './flow.js';
import { at, type Netlist, netOf, ohms, type Part, partsOf, splitEnd } from './netlist.js';
import { checkSupply } from './supplyChecks.js';

/** Pull-up of the 1-Wire bus: the firmware's pin header; 4.7 kOhm is the datasheet's, 1.5 keeps a probe's pin within 4 mA. */
export const BUS_PULL_UP_OHMS = { least: 1500, most: 4700 } as const;
/** Pull-ups of the I2C lines: the firmware's pin header. */
export const I2C_PULL_UP_OHMS = { least: 2200, most: 4700 } as const;

/**
 * All that is wrong with a wiring, one sentence each with file and line where it has one; empty when it is right.
 *
 * @param pins what the firmware's header says, by `readFirmwarePins`
 */
export function checkNetlist(netlist: Netlist, pins: FirmwarePins): string[] {
  return [
    ...loosePins(netlist),
    ...railsWrong(netlist),
    ...checkSupply(netlist),
    ...pullUps(netlist),
    ...firmwarePinsWrong(netlist, pins),
    ...probesWrong(netlist),
    ...memoryWrong(netlist),
    ...seriesResistorsWrong(netlist),
    ...terminalsWrong(netlist),
  ];
}

/** Every net has two ends or more, every pin stands in exactly one net. */
function loosePins(netlist: Netlist): string[] {
  const short = netlist.nets
    .filter(({ ends }) => ends.length < 2)
    .map((net) => `${at(netlist, net)}net ${net.name} has one end; join a second to it or leave it out`);
  const pins = netlist.parts.flatMap((part) =>
    part.pins.flatMap(({ name }) => {
      const end = `${part.ref}.${name}`;
      const homes = netlist.nets.flatMap((net) => net.ends.filter((each) => each === end).map(() => net));
      if (homes.length === 0) return [`${at(netlist, part)}${end} is in no net; join it to one`];
      const [first, second] = homes;
      return first && second
        ? [
            `${at(netlist, second)}${end} is there twice, in ${first.name} and in ${second.name}; leave it in one`,
          ]
        : [];
    }),
  );
  return [...short, ...pins];
}

/** Pins that belong to ground, and those that must never meet it; the chips' supply is the board's 5 V. */
const GROUND_PINS: ReadonlySet<string> = new Set(['GND', '-']);
const SUPPLY_PINS: ReadonlySet<string> = new Set(['12V', '5V', 'VBUS', 'VCC', 'VDD', 'VBAT', '+']);

function railsWrong(netlist: Netlist): string[] {
  const home = (part: Part, pin: string) => netOf(netlist, `${part.ref}.${pin}`)?.name ?? null;
  const board = partsOf(netlist, 'board')[0];
  const supply = board ? home(board, '5V') : null;
  const astray = netlist.parts.flatMap((part) =>
    part.pins.flatMap(({ name }) => {
      const net = home(part, name);
      if (net === null) return [];
      if (GROUND_PINS.has(name) && net !== 'GND')
        return [`${at(netlist, part)}${part.ref}.${name} must go to GND and is in ${net}; wire it to GND`];
      if (SUPPLY_PINS.has(name) && net === 'GND')
        return [
          `${at(netlist, part)}${part.ref}.${name} is a supply and is joined to GND: a short; take it out of GND`,
        ];
      return [];
    }),
  );
  const unfed = partsOf(netlist, 'memory', 'clock')
    .filter((part) => home(part, 'VCC') !== 'GND' && home(part, 'VCC') !== supply)
    .map((part) => `${at(netlist, part)}${part.ref}.VCC gets no 5 V; wire it to ${supply ?? 'the board'}`);
  const crossed = partsOf(netlist, 'host').flatMap((host) =>
    ['D+', 'D-']
      .filter((pin) => board && home(host, pin) !== home(board, pin))
      .map((pin) => `${at(netlist, host)}${host.ref}.${pin} must go to ${board?.ref}.${pin}; wire it there`),
  );
  return [...astray, ...unfed, ...crossed];
}

/** The resistors from `net` to the board's 5 V. */
function pullUpsOf(netlist: Netlist, net: string): Part[] {
  const board = partsOf(netlist, 'board')[0];
  const supply = board && netOf(netlist, `${board.ref}.5V`)?.name;
  return partsOf(netlist, 'resistor').filter(({ ref }) => {
    const ends = [netOf(netlist, `${ref}.1`)?.name, netOf(netlist, `${ref}.2`)?.name];
    return supply !== undefined && ends.includes(net) && ends.includes(supply);
  });
}

/** One pull-up on the 1-Wire bus, one on each line of the I2C, each within its limits. */
function pullUps(netlist: Netlist): string[] {
  const probe = partsOf(netlist, 'probe')[0];
  const memory = partsOf(netlist, 'memory', 'clock')[0];
  const wanted = [
    ...(probe ? [{ end: `${probe.ref}.DQ`, limits: BUS_PULL_UP_OHMS }] : []),
    ...(memory
      ? ['SDA', 'SCL'].map((pin) => ({ end: `${memory.ref}.${pin}`, limits: I2C_PULL_UP_OHMS }))
      : []),
  ];
  return wanted.flatMap(({ end, limits }) => {
    const net = netOf(netlist, end);
    if (!net) return [];
    const found = pullUpsOf(netlist, net.name);
    const range = `${limits.least / 1000} to ${limits.most / 1000} kOhm`;
    if (found.length !== 1) {
      const names =
        found.length === 0 ? 'none' : `${found.length} (${found.map(({ ref }) => ref).join(', ')})`;
      return [
        `${at(netlist, net)}${net.name} needs one pull-up to 5 V and has ${names}; wire exactly one of ${range}`,
      ];
    }
    return found
      .filter(({ value }) => !((ohms(value) ?? 0) >= limits.least && (ohms(value) ?? 0) <= limits.most))
      .map(
        (part) => `${at(netlist, part)}${part.ref} pulls ${net.name} up with ${part.value}; take ${range}`,
      );
  });
}

/** Each of the firmware's pins leads to what it works on, directly or through a resistor, and on to ground. */
function firmwarePinsWrong(netlist: Netlist, pins: FirmwarePins): string[] {
  const board = partsOf(netlist, 'board')[0];
  if (!board) return [];
  const directly = (...ends: readonly string[]) => ends.map((end) => ({ end, through: false }));
  const each = (kind: Part['kind'], pin: string) => partsOf(netlist, kind).map(({ ref }) => `${ref}.${pin}`);
  const wanted: Record<PinFunction, { end: string; through: boolean }[]> = {
    ONEWIRE: directly(...each('probe', 'DQ')),
    I2C_SDA: directly(...each('memory', 'SDA'), ...each('clock', 'SDA')),
    I2C_SCL: directly(...each('memory', 'SCL'), ...each('clock', 'SCL')),
    BUTTON: directly(...each('button', '1')),
    LED: each('led', 'A').map((end) => ({ end, through: true })),
    PIEZO: each('piezo', '1').map((end) => ({ end, through: true })),
  };
  const astray = (Object.keys(wanted) as PinFunction[]).flatMap((name) => {
    const home = `${board.ref}.${pins[name]}`;
    const own = netOf(netlist, home)?.name ?? null;
    const behind = reachable(netlist, home);
    const lost = wanted[name].find(({ end, through }) => {
      const net = netOf(netlist, end)?.name ?? null;
      return through ? net === null || net === own || !behind.has(net) : net === null || net !== own;
    });
    if (!lost) return [];
    const how = lost.through ? 'through a resistor to' : 'to';
    return [
      `${at(netlist, netOf(netlist, lost.end) ?? board)}the firmware has ${name} on ${pins[name]} (hardware/firmware/chip_atmega328p.h); wire ${home} ${how} ${lost.end}`,
    ];
  });
  const grounded = (['button', 'led', 'piezo'] as const).flatMap((kind) =>
    partsOf(netlist, kind)
      .map((part) => ({ part, end: `${part.ref}.${kind === 'led' ? 'K' : '2'}` }))
      .filter(({ end }) => netOf(netlist, end)?.name !== 'GND')
      .map(({ part, end }) => `${at(netlist, part)}${end} must go to GND; wire it there`),
  );
  return [...astray, ...grounded];
}

/** A probe for every slot, on three wires: a probe fed through its data wire reads wrong when all convert together. */
function probesWrong(netlist: Netlist): string[] {
  const probes = partsOf(netlist, 'probe');
  const count =
    probes.length === netlist.slots
      ? []
      : [`${netlist.file}: ${probes.length} probes for ${netlist.slots} slots; give each slot its own`];
  const board = partsOf(netlist, 'board')[0];
  const fed = board ? reachable(netlist, `${board.ref}.5V`) : new Set<string>();
  const unfed = probes
    .filter(({ ref }) => {
      const supply = netOf(netlist, `${ref}.VDD`)?.name ?? '';
      return !fed.has(supply) || supply === netOf(netlist, `${ref}.DQ`)?.name || supply === 'GND';
    })
    .map(
      (part) =>
        `${at(netlist, part)}${part.ref}.VDD gets no 5 V; a probe is never powered through its data wire`,
    );
  return [...count, ...unfed];
}

/** Address pins and write protection at ground: the firmware looks for the memory at 50h. */
function memoryWrong(netlist: Netlist): string[] {
  return partsOf(netlist, 'memory').flatMap((part) =>
    ['A0', 'A1', 'A2', 'WP']
      .filter((pin) => netOf(netlist, `${part.ref}.${pin}`)?.name !== 'GND')
      .map(
        (pin) =>
          `${at(netlist, part)}${part.ref}.${pin} must go to GND, else the firmware does not find the memory`,
      ),
  );
}

/** In series with what a pin drives: 220 Ohm keep a red LED under 15 mA at 5 V, above 1 kOhm it is dark in the sun (j). */
export const SERIES_OHMS = { least: 220, most: 1000 } as const;

function seriesResistorsWrong(netlist: Netlist): string[] {
  const driven = [
    ...partsOf(netlist, 'led').map(({ ref }) => `${ref}.A`),
    ...partsOf(netlist, 'piezo').map(({ ref }) => `${ref}.1`),
  ];
  return driven.flatMap((end) => {
    const net = netOf(netlist, end);
    const resistors = partsOf(netlist, 'resistor').filter(({ ref }) =>
      ['1', '2'].some((pin) => netOf(netlist, `${ref}.${pin}`)?.name === net?.name),
    );
    const [resistor] = resistors;
    // One that is missing is found with the firmware's pins.
    if (!net || !resistor) return [];
    const value = ohms(resistor.value) ?? Number.NaN;
    return value >= SERIES_OHMS.least && value <= SERIES_OHMS.most
      ? []
      : [
          `${at(netlist, resistor)}${resistor.ref} is ${resistor.value} before ${end}; take ${SERIES_OHMS.least} to ${SERIES_OHMS.most} Ohm`,
        ];
  });
}

/** A pin of a terminal bears the name of the part or of the pin that it leads to: `X3.S1` to S1, `X1.DQ` to a DQ. */
function terminalsWrong(netlist: Netlist): string[] {
  return partsOf(netlist, 'terminal').flatMap((part) =>
    part.pins
      .filter(({ name }) => name !== 'GND')
      .filter(({ name }) => {
        const net = netOf(netlist, `${part.ref}.${name}`);
        const others = (net?.ends ?? []).map(splitEnd).filter(([ref]) => ref !== part.ref);
        return net?.name === 'GND' || !others.some(([ref, pin]) => ref === name || pin === name);
      })
      .map(
        ({ name }) =>
          `${at(netlist, part)}${part.ref}.${name} does not lead to ${name}; wire it there, or call it what it leads to`,
      ),
  );
}
