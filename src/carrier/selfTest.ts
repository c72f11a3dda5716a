import { isUsualRom, type RomId } from '../units/ids.js';
import type { CarrierEvent, ProbeReading } from './events.js';

/** One line of a self-test: what was looked at, what was found, and whether that is as it should be. */
export interface TestRow {
  readonly what: string;
  /** Of a probe: the slot it sits in; null when nobody knows. */
  readonly slot: string | null;
  readonly found: string;
  /** Null: for information only. */
  readonly passed: boolean | null;
}

/** A probe in still air moves less than this from scan to scan, degrees Celsius (j). */
const NOISE_MAX = 0.25;
/** A probe of a carrier that stands ready lies within this of the middle of all (j). */
const SPREAD_MAX = 2;
/** A quartz crystal is far better, a ceramic resonator worse: with one a day alone cannot be placed in time. */
const RATE_PPM_MAX = 200;
/** How exactly a line's arrival is timed, ms. */
const ARRIVAL_MS = 20;
/** Lines that may be lost or damaged while the port is being opened. */
const DAMAGED_MAX = 2;
const PROBES_WANTED_MIN = 1;
const NO_SLOTS: ReadonlyMap<RomId, string> = new Map();

type Heard<Kind extends CarrierEvent['kind']> = Extract<CarrierEvent, { kind: Kind }>;

/**
 * Judges what a wired carrier said while it was listened to. Pure.
 *
 * @param expectedProbes how many probes were built in, null when not told
 * @param slots where each probe should be, in the order of the slots; empty when nobody knows
 */
export function selfTest(
  heard: readonly CarrierEvent[],
  expectedProbes: number | null,
  slots: ReadonlyMap<RomId, string> = NO_SLOTS,
): TestRow[] {
  const all = <Kind extends CarrierEvent['kind']>(kind: Kind) =>
    heard.filter((event): event is Heard<Kind> => event.kind === kind);
  const boots = all('boot');
  const boot = boots.at(-1);
  return [
    row(
      'board',
      boot ? `${boot.board}, firmware ${boot.firmwareVersion}` : 'did not say who it is',
      boot !== undefined,
    ),
    row('restarts meanwhile', `${Math.max(0, boots.length - 1)}`, boots.length <= 1),
    supply(boot),
    memory(all('log-state').at(-1)),
    clock(all('clock').at(-1)),
    rate(all('heartbeat')),
    lines(heard),
    ...probes(all('probes').at(-1), all('scan'), expectedProbes, slots),
  ];
}

const row = (what: string, found: string, passed: boolean | null): TestRow => ({
  what,
  slot: null,
  found,
  passed,
});

function supply(boot: Heard<'boot'> | undefined): TestRow {
  const sagged = boot?.resetCause === 'brown-out';
  return row(
    'supply',
    sagged ? 'the last restart was a brown-out' : 'no brown-out so far; voltage not measured',
    sagged ? false : null,
  );
}

function memory(state: Heard<'log-state'> | undefined): TestRow {
  const found = !state
    ? 'the board said nothing of it'
    : state.store === 'memory'
      ? `works; ${state.room} pages free`
      : 'does not answer; what is logged alone is lost with the supply';
  return row('serial memory', found, state?.store === 'memory');
}

function clock(said: Heard<'clock'> | undefined): TestRow {
  const off = said?.utc == null ? null : Math.round((said.utc + 500 - said.arrival.utc) / 1000);
  const found = {
    running:
      off === null ? 'runs' : `runs, ${Math.abs(off)} s ${off < 0 ? 'behind' : 'ahead of'} this computer`,
    stopped: 'had stopped: its cell is empty, or it was never set (log or sync sets it)',
    absent: 'does not answer',
  }[said?.clock ?? 'absent'];
  return row('clock', found, said?.clock === 'running');
}

function rate(beats: readonly Heard<'heartbeat'>[]): TestRow {
  // A busy computer hears late but never early: of the first and of the last third, the least delayed counts.
  const same = beats.filter(({ bootCount }) => bootCount === beats[0]?.bootCount);
  const third = Math.max(1, Math.floor(same.length / 3));
  const first = leastDelayed(same.slice(0, third));
  const last = leastDelayed(same.slice(-third));
  const elapsed = first && last ? last.arrival.monotonic - first.arrival.monotonic : 0;
  if (!first || !last || elapsed <= 0) return row('counter', 'no heartbeat', false);
  const ppm = Math.round(((last.boardMs - first.boardMs) / elapsed - 1) * 1_000_000);
  const within = Math.round((2 * ARRIVAL_MS * 1_000_000) / elapsed);
  const isSure = Math.abs(ppm) - within > RATE_PPM_MAX || Math.abs(ppm) + within <= RATE_PPM_MAX;
  // Without the sign that a rounded -0 would have.
  const found = `${ppm === 0 ? 0 : ppm} ppm, give or take ${within}`;
  return isSure
    ? row('counter', `${found}; at most ${RATE_PPM_MAX} is good`, Math.abs(ppm) <= RATE_PPM_MAX)
    : row(
        'counter',
        `${found}: too rough to say whether it is within ${RATE_PPM_MAX} ppm; listen longer, --seconds 600`,
        null,
      );
}

function leastDelayed(beats: readonly Heard<'heartbeat'>[]): Heard<'heartbeat'> | undefined {
  const delay = ({ arrival, boardMs }: Heard<'heartbeat'>) => arrival.monotonic - boardMs;
  return beats.reduce<Heard<'heartbeat'> | undefined>(
    (least, beat) => (least === undefined || delay(beat) < delay(least) ? beat : least),
    undefined,
  );
}

function lines(heard: readonly CarrierEvent[]): TestRow {
  const discarded = heard.flatMap((event) => (event.kind === 'discarded' ? [event.reason] : []));
  const repeated = discarded.filter((reason) => reason === 'repeated').length;
  const damaged = discarded.length - repeated;
  const lost = heard.filter((event) => event.kind === 'link' && event.state === 'lost-lines').length;
  return row(
    'lines',
    `${heard.length - discarded.length - lost} good, ${damaged} damaged, ${repeated === 0 ? '' : `${repeated} repeated, `}${lost} times some lost`,
    discarded.length + lost <= DAMAGED_MAX,
  );
}

function probes(
  table: Heard<'probes'> | undefined,
  scans: readonly Heard<'scan'>[],
  expectedProbes: number | null,
  slots: ReadonlyMap<RomId, string>,
): TestRow[] {
  const found = new Set(table?.probes.map(({ rom }) => rom));
  const byRom = new Map<RomId, ProbeReading[]>([...found].map((rom) => [rom, []]));
  for (const { readings } of scans) for (const reading of readings) byRom.get(reading.rom)?.push(reading);
  const middles = [...byRom.values()].flatMap((readings) => {
    const values = goodOf(readings);
    return values.length > 0 ? [mean(values)] : [];
  });
  const middle = median(middles);
  const expected = expectedProbes ?? (slots.size > 0 ? slots.size : null);
  const count =
    found.size === 0
      ? 'none found: look at the data lead, its pull-up and the supply'
      : `${found.size} found`;
  return [
    row(
      'probes',
      `${count}${expected === null || found.size === 0 ? '' : ` of ${expected}`}${middle === null ? '' : `, their median ${middle.toFixed(2)} °C`}`,
      expected === null ? found.size >= PROBES_WANTED_MIN : found.size === expected,
    ),
    ...[...slots].map(([rom, slot]) =>
      found.has(rom)
        ? { ...probe(rom, byRom.get(rom) ?? [], middle), slot }
        : { ...row(rom, 'not found', false), slot },
    ),
    ...[...byRom].flatMap(([rom, readings]) => (slots.has(rom) ? [] : [probe(rom, readings, middle)])),
  ];
}

function probe(rom: RomId, readings: readonly ProbeReading[], middle: number | null): TestRow {
  const values = goodOf(readings);
  const tested = readings.filter(({ status }) => status !== 'first-conversion');
  const faults = new Map<string, number>();
  for (const { status } of tested) if (status !== 'ok') faults.set(status, (faults.get(status) ?? 0) + 1);
  const spread = values.length > 0 && middle !== null ? mean(values) - middle : null;
  const noise = noiseOf(values);
  const off = spread === null ? '' : ` (median ${spread < 0 ? '-' : '+'}${Math.abs(spread).toFixed(2)})`;
  const parts = [
    values.length > 0 ? `${mean(values).toFixed(2)} °C${off}` : 'no reading',
    ...(noise === null ? [] : [`noise ${noise.toFixed(3)} °C`]),
    ...[...faults].map(([status, count]) => `${status} ${count} of ${tested.length}`),
    ...(isUsualRom(rom) ? [] : ['ROM id unlike the maker’s: perhaps a clone']),
  ];
  return row(
    rom,
    parts.join(', '),
    values.length > 0 &&
      faults.size === 0 &&
      Math.abs(spread ?? 0) <= SPREAD_MAX &&
      (noise ?? 0) <= NOISE_MAX,
  );
}

const goodOf = (readings: readonly ProbeReading[]): number[] =>
  readings.flatMap(({ raw, status }) => (status === 'ok' && raw !== null ? [raw / 16] : []));
const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

function median(values: readonly number[]): number | null {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length / 2;
  if (sorted.length === 0) return null;
  return ((sorted[Math.floor(half)] ?? 0) + (sorted[Math.ceil(half) - 1] ?? 0)) / 2;
}

/** From scan to scan, so that a slow drift is no noise; degrees Celsius. */
function noiseOf(values: readonly number[]): number | null {
  const steps = values.slice(1).map((value, index) => value - values[index]!);
  return steps.length < 2 ? null : Math.sqrt(mean(steps.map((step) => step * step)) / 2);
}
