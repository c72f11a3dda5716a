import { reachable } from './flow.js';
import { amperes, at, type Netlist, nanofarads, netOf, partsOf } from './netlist.js';

/** All that is wrong with fuses, diodes and capacitors, one sentence each. */
export const checkSupply = (netlist: Netlist): string[] => [
  ...withoutFuse(netlist),
  ...fuseTooLarge(netlist),
  ...backFeed(netlist),
  ...trunkWithoutFuse(netlist),
  ...capacitorsWrong(netlist),
  ...withoutCapacitor(netlist),
];

/** All that 12 V meets before a fuse is fuses; behind the adapter there is 5 V. */
function withoutFuse(netlist: Netlist): string[] {
  return partsOf(netlist, 'vehicle-socket').flatMap((socket) => {
    const from = `${socket.ref}.12V`;
    const live = reachable(netlist, from, ({ kind }) => kind === 'fuse' || kind === 'adapter');
    const isLive = (net = 'GND') => net !== 'GND' && live.has(net);
    return netlist.parts
      .filter(({ ref, kind }) => ref !== socket.ref && kind !== 'fuse')
      .filter(({ ref, pins }) => pins.some(({ name }) => isLive(netOf(netlist, `${ref}.${name}`)?.name)))
      .map(
        (part) =>
          `${at(netlist, part)}12 V reaches ${part.ref} without a fuse; put one between ${from} and it`,
      );
  });
}

/** What the fuse in the plug may be: bom.csv. */
export const FUSE_AMPERES_MAX = 3;

function fuseTooLarge(netlist: Netlist): string[] {
  return partsOf(netlist, 'fuse')
    .filter(({ value }) => !((amperes(value) ?? Number.NaN) <= FUSE_AMPERES_MAX))
    .map(
      (part) =>
        `${at(netlist, part)}${part.ref} is a fuse of ${part.value}; take one of at most ${FUSE_AMPERES_MAX} A, written as 2 A`,
    );
}

/** Each supply reaches the board, and none the other. */
function backFeed(netlist: Netlist): string[] {
  const board = partsOf(netlist, 'board')[0];
  if (!board) return [`${netlist.file}: there is no board; add one`];
  const supplies = [
    ...partsOf(netlist, 'adapter').map((part) => ({ part, end: `${part.ref}.5V` })),
    ...partsOf(netlist, 'host').map((part) => ({ part, end: `${part.ref}.VBUS` })),
  ];
  const home = netOf(netlist, `${board.ref}.5V`)?.name ?? '';
  return supplies.flatMap(({ part, end }) => {
    const reached = reachable(netlist, end);
    const starved = reached.has(home)
      ? []
      : [`${at(netlist, part)}${end} does not reach ${board.ref}.5V; lead it there through a diode`];
    const fed = supplies
      .filter((other) => other.end !== end && reached.has(netOf(netlist, other.end)?.name ?? ''))
      .map(
        (other) =>
          `${at(netlist, other.part)}${end} feeds back into ${other.end}; put a diode after ${other.end}, its cathode (K) towards ${board.ref}.5V`,
      );
    return [...starved, ...fed];
  });
}

/** What the trunk's own fuse may be: a short in a cable must not take the board's 5 V down for long. */
export const TRUNK_FUSE_AMPERES_MAX = 0.5;

/** Probes hang on long cables between lids: their 5 V passes a fuse of its own. */
function trunkWithoutFuse(netlist: Netlist): string[] {
  const [board] = partsOf(netlist, 'board');
  if (!board) return [];
  const unfused = reachable(netlist, `${board.ref}.5V`, ({ kind }) => kind === 'resettable-fuse');
  const bare = partsOf(netlist, 'probe')
    .filter(({ ref }) => {
      const net = netOf(netlist, `${ref}.VDD`)?.name ?? 'GND';
      return net !== 'GND' && unfused.has(net);
    })
    .slice(0, 1)
    .map(
      (part) =>
        `${at(netlist, part)}${part.ref}.VDD gets its 5 V past no fuse; put a resettable one between ${board.ref}.5V and the probes`,
    );
  const large = partsOf(netlist, 'resettable-fuse')
    .filter(({ value }) => !((amperes(value) ?? Number.NaN) <= TRUNK_FUSE_AMPERES_MAX))
    .map(
      (part) =>
        `${at(netlist, part)}${part.ref} lets ${part.value} pass; take one of at most ${TRUNK_FUSE_AMPERES_MAX} A`,
    );
  return [...bare, ...large];
}

/** An electrolytic capacitor stands between the board's supply and ground; the other way round it bursts. */
function capacitorsWrong(netlist: Netlist): string[] {
  const supply = supplyOf(netlist);
  return partsOf(netlist, 'capacitor')
    .filter(({ ref }) => {
      const plus = netOf(netlist, `${ref}.+`)?.name;
      return plus !== 'GND' && plus !== supply;
    })
    .map((part) => `${at(netlist, part)}${part.ref}.+ must go to ${supply}, its - to GND; wire it there`);
}

const supplyOf = (netlist: Netlist): string | undefined => {
  const [board] = partsOf(netlist, 'board');
  return board && netOf(netlist, `${board.ref}.5V`)?.name;
};

/** Beside a chip without a module of its own, and where a long cable begins: common practice, no source. */
export const DECOUPLING_NF = 100;
/** What keeps up the board's 5 V while probes begin to convert: common practice, no source. */
export const BULK_UF = { least: 47, most: 470 } as const;

/**
 * A ceramic capacitor from supply to ground for each memory and one where the probes' trunk begins, and a large one
 * at the board. Boards and clock modules bring their own.
 */
function withoutCapacitor(netlist: Netlist): string[] {
  const between = (kind: 'ceramic' | 'capacitor', net: string | undefined) =>
    partsOf(netlist, kind).filter(({ ref, pins }) => {
      const nets = pins.map(({ name }) => netOf(netlist, `${ref}.${name}`)?.name);
      return nets.includes(net) && nets.includes('GND');
    });
  const [probe] = partsOf(netlist, 'probe');
  const fed = [
    ...partsOf(netlist, 'memory').map(({ ref }) => `${ref}.VCC`),
    ...(probe ? [`${probe.ref}.VDD`] : []),
  ].map((end) => ({ end, net: netOf(netlist, end) }));
  const bare = fed.flatMap(({ end, net }) => {
    const wanted = fed.filter((other) => other.net === net).length;
    const found = between('ceramic', net?.name);
    return net === null || net.name === 'GND' || found.length >= wanted
      ? []
      : [
          `${at(netlist, net)}${end} has no ceramic capacitor; put one of ${DECOUPLING_NF} nF from ${net.name} to GND`,
        ];
  });
  const odd = partsOf(netlist, 'ceramic')
    .filter(({ value }) => nanofarads(value) !== DECOUPLING_NF)
    .map((part) => `${at(netlist, part)}${part.ref} is ${part.value}; take ${DECOUPLING_NF} nF`);
  const supply = supplyOf(netlist);
  const bulk = between('capacitor', supply);
  const range = `${BULK_UF.least} to ${BULK_UF.most} uF`;
  const sagging =
    bulk.length > 0
      ? []
      : [`${netlist.file}: ${supply ?? 'the board'} has no capacitor; put one of ${range} from it to GND`];
  const size = bulk
    .filter(({ value }) => {
      const uF = (nanofarads(value) ?? 0) / 1000;
      return uF < BULK_UF.least || uF > BULK_UF.most;
    })
    .map((part) => `${at(netlist, part)}${part.ref} is ${part.value}; take ${range}`);
  return [...bare, ...odd, ...sagging, ...size];
}
