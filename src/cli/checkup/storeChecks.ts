import { dirname } from 'node:path';
import { isAlive, isLogging } from '../../logger/presence.js';
import { diskHindrance, unsafeFileSystem } from '../../store/fileSystem.js';
import { kindOfFile } from '../../store/header.js';
import { keptEqualFolder } from '../../store/keptEqual.js';
import { openStoreToRead, type Store } from '../../store/store.js';
import type { RomId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import { between, durationMs, formatInstant, later, minutes, seconds, type UtcMs } from '../../units/time.js';
import { recordedAhead } from '../../visit/clockBehind.js';
import { ICE_AGE_MAX, inForce } from '../../visit/commissioned.js';
import { foldSeason, type Season } from '../../visit/season.js';
import { bad, type Finding, good, look } from './finding.js';
import type { Machine } from './machine.js';
import { mirror } from './mirrorCheck.js';
import { startedLogger } from './startedLogger.js';
import { versions } from './versionCheck.js';

const MB = 1_000_000;
/** Four carriers write some 30 MB in 24 h while nothing is sealed (measured: 69 bytes a reading). */
const FREE_LEAST = 100 * MB;
const FREE_ENOUGH = 1000 * MB;
/** A board's clock further off than this proves no times. */
const CLOCK_OFF_MAX = seconds(2);

/** The store at `path`, the disk that it lies on, and what it tells of loggers, boards and probes. */
export function storeChecks(path: string, machine: Machine, now: UtcMs): Finding[] {
  const disk = diskChecks(path, machine);
  let store: Store | null = null;
  try {
    if (kindOfFile(path) !== 'store')
      return [
        ...disk,
        versions(null),
        look('store', `there is no store at ${path} yet.`, 'open a visit, or name another with --store'),
      ];
    store = openStoreToRead(path);
    // The probes and carriers at hand, not those of gathered stores.
    const season = foldSeason(store.facts());
    return [
      ...disk,
      permission(path, machine),
      ...whole(store),
      sealed(store),
      ...gathered(store),
      order(store, now),
      versions(store),
      logger(store, machine, now),
      mirror(store, machine, isLogging(store.logger(), now)),
      lines(store),
      ...boards(store),
      ...unreadLogs(store),
      ...probes(season, now),
      ...stuck(store, season, now),
    ];
  } catch (error) {
    // Damage may come to light at the opening or at whatever is read first.
    if (!(error instanceof Refusal)) throw error;
    return [
      ...disk,
      bad('store', error.message, 'keep the file as it is, and restore a backup under another name'),
    ];
  } finally {
    store?.close();
  }
}

function diskChecks(path: string, machine: Machine): Finding[] {
  const disk = machine.fileSystem(dirname(path));
  if (disk === null) return [look('disk', `the folder of ${path} cannot be asked.`, 'check that it exists')];
  const free = `${Math.floor(disk.freeBytes / MB)} MB are free`;
  const unsafe = unsafeFileSystem(disk.type);
  const room =
    disk.freeBytes < FREE_LEAST
      ? bad('disk', `${free}.`, 'make room before the day begins')
      : disk.freeBytes < FREE_ENOUGH
        ? look('disk', `${free}.`, 'make room soon')
        : good('disk', `${free}.`);
  const found = [room];
  if (unsafe !== null)
    found.push(
      bad(
        'disk',
        `${path} lies on ${unsafe}, whose locks are not to be relied on.`,
        'keep the store on a disk of this computer, and copy backups there',
      ),
    );
  const equal = keptEqualFolder(path);
  if (equal !== null)
    found.push(
      bad(
        'disk',
        `${path} lies in ${equal}, a folder that a program keeps equal on several computers; nothing is written there, for that damages a store.`,
        'keep the store in another folder, and put backups there',
      ),
    );
  return found;
}

function permission(path: string, machine: Machine): Finding {
  return machine.isOpen(path) && machine.isOpen(dirname(path))
    ? good('permission', 'the store may be written.')
    : bad(
        'permission',
        `${path} or its folder may not be written by this user.`,
        'change their owner or permissions',
      );
}

function whole(store: Store): Finding[] {
  const damage = store.damage();
  const broken = store.brokenAt();
  const { count, hash } = store.head();
  return [
    damage === null
      ? good('file', 'the file is whole.')
      : bad(
          'file',
          `SQLite finds the file damaged: ${damage}.`,
          'keep it as it is, and restore a backup under another name',
        ),
    broken === null
      ? good('chain', `${count} facts, head ${hash}.`)
      : bad(
          'chain',
          `fact ${broken} does not follow from the one before: the record was changed.`,
          'compare with the head on printed reports and with backups',
        ),
  ];
}

/** At most so many damaged blocks are named one by one. */
const NAMED_MAX = 5;

/** Every block of sealed readings against its fact. */
function sealed(store: Store): Finding {
  const broken = store.brokenBlocks();
  if (broken.length === 0)
    return good('sealed', 'every block of sealed readings is the one its fact tells of.');
  const named = broken.slice(0, NAMED_MAX).map(({ block, why }) => `${block}: ${why}`);
  const more = broken.length > NAMED_MAX ? `; and ${broken.length - NAMED_MAX} more` : '';
  return bad(
    'sealed',
    `${broken.length} of the blocks of sealed readings cannot be relied on (${named.join('; ')}${more}).`,
    'all others are read as before; a backup of an earlier day may hold these, do not rely on rulings of that time until then',
  );
}

/** What was gathered of other stores, where anything was. */
function gathered(store: Store): Finding[] {
  const chains = store.chains().length - 1;
  if (chains === 0) return [];
  const broken = store.brokenGathered();
  const named = broken.slice(0, NAMED_MAX).join('; ');
  const more = broken.length > NAMED_MAX ? `; and ${broken.length - NAMED_MAX} more` : '';
  return [
    broken.length === 0
      ? good(
          'gathered',
          `${chains} ${chains === 1 ? 'chain' : 'chains'} of other stores, each as it was taken in.`,
        )
      : bad(
          'gathered',
          `what was gathered of other stores was changed: ${named}${more}.`,
          'gather their bundles into a new store',
        ),
  ];
}

/** A computer whose clock is behind what it has recorded. */
function order(store: Store, now: UtcMs): Finding {
  const last = recordedAhead(store, now);
  return last !== null
    ? bad(
        'time',
        `the clock says ${formatInstant(now)}, and the last fact was recorded at ${formatInstant(last)}.`,
        'set the clock; rulings stand, but labels would be wrong',
      )
    : good('time', 'the clock is not behind the record.');
}

function logger(store: Store, machine: Machine, now: UtcMs): Finding {
  const row = store.logger();
  if (row !== null && isLogging(row, now)) return good('logger', `at work (process ${row.pid}).`);
  const why = diskHindrance(store.path);
  if (why !== null && (row === null || row.state !== 'logging' || !isAlive(row.pid)))
    return waiting(row?.state === 'logging' ? row.beat : null, why, startedLogger(store.path, machine));
  if (row === null || row.state !== 'logging') return good('logger', 'none is at work.');
  if (why !== null)
    return bad(
      'logger',
      `process ${row.pid} is there, and has stored nothing since ${formatInstant(row.beat)}: the disk is ${why}.`,
      `make ${why === 'full' ? 'room' : 'the disk writable'}, it then goes on by itself; boards with memory keep their scans, other sources have a gap`,
    );
  return look(
    'logger',
    `the last one ended without a word at ${formatInstant(row.beat)}.`,
    'start `log` again; a board with memory has kept its scans',
  );
}

/** Of a store that nobody can write now, and so no logger that waits for that at its start. */
function waiting(died: UtcMs | null, why: 'full' | 'read-only', pid: number | null): Finding {
  const cure = `make ${why === 'full' ? 'room' : 'the disk writable'}`;
  if (pid !== null)
    return bad(
      'logger',
      `process ${pid} waits to begin: the disk is ${why}.`,
      `${cure}, it then begins by itself; boards with memory keep their scans`,
    );
  const before =
    died === null ? 'none is at work' : `the last one ended without a word at ${formatInstant(died)}`;
  return bad(
    'logger',
    `${before}, and the disk is ${why}; one that waits for that at its start may not be seen from here.`,
    `${cure}: one that waits begins by itself within a minute; if none does, start \`log\``,
  );
}

function lines(store: Store): Finding {
  const discards = store.discards();
  const times = discards.reduce((sum, each) => sum + each.times, 0);
  if (times === 0) return good('lines', 'none was discarded.');
  const reasons = discards.map(({ reason, times: often }) => `${reason} ${often}`).join(', ');
  return look(
    'lines',
    `${times} arrived damaged${discards.some(({ reason }) => reason === 'repeated') ? ' or a second time' : ''} (${reasons}).`,
    'a few are normal when ports open; many mean a bad cable or hub',
  );
}

function boards(store: Store): Finding[] {
  const last = new Map<string, number | null>();
  for (const { fact } of store.facts())
    if (fact.type === 'clock-compared') last.set(fact.board, fact.differenceMs);
  return [...last].map(([board, off]) => {
    if (off === null)
      return look(
        'board',
        `${board}: its clock does not run.`,
        'a new coin cell, and connect it once to be set',
      );
    return Math.abs(off) <= CLOCK_OFF_MAX
      ? good('board', `${board}: its clock was right to 2 s when last compared.`)
      : look(
          'board',
          `${board}: its clock was ${Math.round(off / 1000)} s off when last compared.`,
          'connect it once, `log` sets it',
        );
  });
}

/** Boards whose logs were begun to be read, and did not come whole. */
const unreadLogs = (store: Store): Finding[] =>
  [...store.unreadPages()].map(([board, pages]) =>
    look(
      'log',
      `${board}: ${pages} page${pages === 1 ? '' : 's'} of its log came and the rest did not; what they prove counts, readings whose times they do not prove are kept and not used.`,
      'connect it to `log` or `sync` again',
    ),
  );

/** The probes that are in slots now. */
const seatedProbes = (season: Season): { where: string; rom: RomId }[] =>
  [...season.carriers].flatMap(([carrier, { slots }]) =>
    [...slots].flatMap(([slot, history]) => {
      const rom = history.at(-1)?.rom ?? null;
      return rom === null ? [] : [{ where: `${carrier}:${slot}`, rom }];
    }),
  );

/** Of a probe that is in no slot it is told for so long after it was last read. */
const STUCK_TOLD = minutes(24 * 60);

/** Probes whose last word was that they give one value and nothing else (carrier/host/unchanging.ts). */
function stuck(store: Store, season: Season, now: UtcMs): Finding[] {
  const places = new Map(seatedProbes(season).map(({ where, rom }) => [rom, where]));
  return store.lastReadings().flatMap(({ rom, utc }) => {
    const where = places.get(rom);
    if (where === undefined && between(utc, now) > STUCK_TOLD) return [];
    if (store.readings(rom, utc, utc).at(-1)?.status !== 'unchanging') return [];
    const before = store.readings(rom, later(utc, durationMs(-STUCK_TOLD)), utc);
    const since = before[before.findLastIndex(({ status }) => status === 'ok') + 1]!;
    return bad(
      'probe',
      `${rom}${where === undefined ? '' : ` in slot ${where}`} gives ${since.raw! / 16} °C and nothing else; its values are no observations from ${formatInstant(since.utc)} on.`,
      'look at the probe and its wires, or take another; do not rely on its cup since some time before that',
    );
  });
}

function probes(season: Season, now: UtcMs): Finding[] {
  const seated = seatedProbes(season);
  if (seated.length === 0)
    return [
      look(
        'probes',
        'none has a slot yet.',
        'find which sits where with `probe warm`, or say it with `probe assign`',
      ),
    ];
  const wanting = seated.filter(({ rom }) => {
    const check = inForce(season.commissioned.ice.get(rom), now);
    return check === null || between(check.at, now) > ICE_AGE_MAX;
  });
  if (wanting.length === 0)
    return [good('probes', `${seated.length} in their slots, all checked in ice within a year.`)];
  return [
    look(
      'probes',
      `${wanting.length} of ${seated.length} in slots were not in ice within a year (${wanting.map(({ where }) => where).join(', ')}).`,
      'check them with `probe ice`; until then rulings allow for more error',
    ),
  ];
}
