import { at, type Netlist, netOf, type Part, type PartKind, splitEnd } from './netlist.js';
import { bodyOf, type Rectangle } from './partBodies.js';
import {
  endOf,
  type Hole,
  holeName,
  type PlacedPart,
  type PlacedPin,
  type Placement,
  pinsOf,
  type Run,
  touched,
} from './placement.js';

/**
 * All that is wrong with a placement, one sentence each with file and line: parts and pins that are not placed, two
 * pins in a hole, parts in each other's way or unlike what is sold, pins that the wires leave apart or join wrongly.
 */
export function checkPlacement(netlist: Netlist, placement: Placement): string[] {
  const crooked = crookedRuns(placement);
  return [
    ...partsMissing(netlist, placement),
    ...pinsMissing(netlist, placement),
    ...holesWrong(placement),
    ...packagesWrong(netlist, placement),
    ...bodiesOverlap(netlist, placement),
    // Where a wire runs is not clear before it runs straight.
    ...(crooked.length > 0
      ? crooked
      : [...strayWires(netlist, placement), ...wiresMeet(placement), ...pinsApart(netlist, placement)]),
  ];
}

const inBox = ({ where }: Part): boolean => where.startsWith('box');

/** Every part that is in the box, and no other, once. */
function partsMissing(netlist: Netlist, { file, parts }: Placement): string[] {
  const wanted = netlist.parts.filter(inBox);
  const missing = wanted
    .filter(({ ref }) => parts.every((placed) => placed.ref !== ref))
    .map(
      (part) => `${at(netlist, part)}${part.ref} is in the box and has no place in ${file}; give it holes`,
    );
  const odd = parts.flatMap(({ ref, line }, index) => {
    if (parts.findIndex((other) => other.ref === ref) !== index)
      return [`${file}, line ${line}: ${ref} has two places; leave it one`];
    return wanted.some((part) => part.ref === ref)
      ? []
      : [`${file}, line ${line}: ${ref} is not in the box by ${netlist.file}; take it out or mend its name`];
  });
  return [...missing, ...odd];
}

/** The ends of a net that belong on the board; a net with but one is joined elsewhere, such as in the USB socket. */
function endsOnBoard(netlist: Netlist, ends: readonly string[]): string[] {
  const own = ends.filter((end) =>
    netlist.parts.some((part) => part.ref === splitEnd(end)[0] && inBox(part)),
  );
  return own.length > 1 ? own : [];
}

/** Every pin of these has a hole, and no hole a pin that the part has not. */
function pinsMissing(netlist: Netlist, { file, parts }: Placement): string[] {
  return parts.flatMap((placed) => {
    const part = netlist.parts.find(({ ref }) => ref === placed.ref);
    if (!part) return [];
    const names = pinsOf(placed).flatMap(({ pin }) => (pin === null ? [] : [pin]));
    const where = `${file}, line ${placed.line}: `;
    const missing = netlist.nets
      .flatMap(({ ends }) => endsOnBoard(netlist, ends))
      .filter((end) => splitEnd(end)[0] === placed.ref && !names.includes(splitEnd(end)[1]))
      .map((end) => `${where}${end} has no hole; give it one`);
    const strange = names
      .filter((name) => part.pins.every((own) => own.name !== name))
      .map((name) => `${where}${placed.ref} has no pin ${name}; mend the name`);
    return [...missing, ...strange];
  });
}

/** Every hole is on the board and holds one pin. */
function holesWrong({ file, rows, columns, parts, runs }: Placement): string[] {
  const isOff = ({ row, column }: Hole) => row >= rows || column >= columns;
  const last = holeName({ row: rows - 1, column: columns - 1 });
  const off = [
    ...parts.map((part) => ({ holes: pinsOf(part).map(({ hole }) => hole), line: part.line })),
    ...runs,
  ].flatMap(({ holes, line }) =>
    holes
      .filter(isOff)
      .map((hole) => `${file}, line ${line}: ${holeName(hole)} is not on the board, which ends at ${last}`),
  );
  const pins = parts.flatMap((part) => pinsOf(part).map((pin) => ({ pin, line: part.line })));
  const twice = pins.flatMap(({ pin, line }, index) => {
    const first = pins.slice(0, index).find((other) => holeName(other.pin.hole) === holeName(pin.hole));
    return first
      ? [
          `${file}, line ${line}: ${nameOf(pin)} and ${nameOf(first.pin)} are both in ${holeName(pin.hole)}; move one`,
        ]
      : [];
  });
  return [...off, ...twice];
}

const nameOf = (pin: PlacedPin): string => endOf(pin) ?? `an unused pin of ${pin.ref}`;

/** How far apart the holes of a part with two pins are, in holes: what its body needs, and what its legs reach. */
const SPREAD: Partial<Record<PartKind, { readonly least: number; readonly most: number }>> = {
  resistor: { least: 3, most: 5 },
  diode: { least: 4, most: 5 },
  'resettable-fuse': { least: 2, most: 2 },
  capacitor: { least: 1, most: 1 },
  ceramic: { least: 1, most: 1 },
};

/**
 * Parts whose pins stand as they are made, by what is printed beside them: seen from above, a row a line, the next row
 * `apart` holes below. The memory: pin 1 is A0 (24-series datasheets, from memory). Board of two rows with its USB socket
 * to the left, and module of the clock: as commonly sold (from memory): compare the print of yours.
 */
const PACKAGES: Partial<Record<PartKind, { readonly rows: readonly string[]; readonly apart: number }>> = {
  memory: { rows: ['VCC WP SCL SDA', 'A0 A1 A2 GND'], apart: 3 },
  board: {
    rows: [
      'D12 D11 D10 D9 D8 D7 D6 D5 D4 D3 D2 GND RST RX TX',
      'D13 3V3 REF A0 A1 A2 A3 A4 A5 A6 A7 5V RST GND VIN',
    ],
    apart: 6,
  },
  clock: { rows: ['32K SQW SCL SDA VCC GND'], apart: 0 },
};

/** The holes of a terminal's screws, 5.08 mm apart. */
const SCREW_STEP = 2;

/** Parts stand in holes that fit them. */
function packagesWrong(netlist: Netlist, { file, parts }: Placement): string[] {
  return parts.flatMap((placed) => {
    const part = netlist.parts.find(({ ref }) => ref === placed.ref);
    const wrong = part && packageWrong(part, placed);
    return wrong ? [`${file}, line ${placed.line}: ${wrong}`] : [];
  });
}

function packageWrong(part: Part, placed: PlacedPart): string | null {
  const pins = pinsOf(placed);
  const [first, second] = pins;
  const spread = SPREAD[part.kind];
  if (spread && first && second) {
    const { along, across } = between(first.hole, second.hole);
    const range = spread.least === spread.most ? spread.least : `${spread.least} to ${spread.most}`;
    if (across !== 0 || along < spread.least || along > spread.most)
      return `the holes of ${part.ref} must lie in a line, ${range} apart`;
  }
  if (part.kind === 'terminal')
    return pins.every(
      ({ hole }, index) =>
        hole.row === pins[0]?.hole.row && hole.column === pins[0].hole.column + index * SCREW_STEP,
    )
      ? null
      : `the screws of ${part.ref} are ${SCREW_STEP} holes apart in a row`;
  const made = PACKAGES[part.kind];
  return made ? packageUnlike(part, placed, made) : null;
}

function packageUnlike(
  part: Part,
  { rows }: PlacedPart,
  { rows: made, apart }: { readonly rows: readonly string[]; readonly apart: number },
): string | null {
  const [corner] = rows[0] ?? [];
  for (const [index, words] of made.entries()) {
    const prints = words.split(' ');
    const row = rows[index] ?? [];
    if (
      row.length !== prints.length ||
      row[0]?.hole.row !== (corner?.hole.row ?? 0) + index * apart ||
      row[0]?.hole.column !== corner?.hole.column ||
      row[1]?.hole.column !== row[0]!.hole.column + 1
    )
      return `${part.ref} has ${made.length === 1 ? 'a row' : `${made.length} rows, ${apart} holes apart,`} of ${prints.length} pins`;
    const wrong = row.find(({ pin }, place) => {
      const print = part.pins.find(({ name }) => name === pin)?.print ?? null;
      return pin !== null && print !== prints[place];
    });
    if (wrong)
      return `${endOf(wrong)} is in ${holeName(wrong.hole)}, and by its print it stands elsewhere; the row is ${words}`;
  }
  return null;
}

function between(a: Hole, b: Hole): { along: number; across: number } {
  const [rows, columns] = [Math.abs(a.row - b.row), Math.abs(a.column - b.column)];
  return { along: Math.max(rows, columns), across: Math.min(rows, columns) };
}

/** No part lies on another. */
function bodiesOverlap(netlist: Netlist, { file, parts }: Placement): string[] {
  const bodies = parts.flatMap((placed) => {
    const part = netlist.parts.find(({ ref }) => ref === placed.ref);
    return part ? [{ placed, body: bodyOf(part.kind, placed) }] : [];
  });
  return bodies.flatMap(({ placed, body }, index) =>
    bodies
      .slice(index + 1)
      .filter((other) => overlap(body, other.body))
      .map(
        (other) =>
          `${file}, line ${other.placed.line}: ${other.placed.ref} lies on ${placed.ref}; move one of them`,
      ),
  );
}

const overlap = (a: Rectangle, b: Rectangle): boolean =>
  a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

/** Bare wires run along rows and columns. */
function crookedRuns({ file, runs }: Placement): string[] {
  return runs
    .filter(({ isBare }) => isBare)
    .flatMap(({ holes, line }) =>
      holes.slice(1).flatMap((to, index) => {
        const from = holes[index]!;
        const { along, across } = between(from, to);
        return across === 0 && along > 0
          ? []
          : [`${file}, line ${line}: ${holeName(from)} and ${holeName(to)} are not in a row or column`];
      }),
    );
}

/** Wires belong to nets of the netlist and touch only pins of theirs. */
function strayWires(netlist: Netlist, { file, parts, runs }: Placement): string[] {
  const pins = new Map(parts.flatMap(pinsOf).map((pin) => [holeName(pin.hole), pin]));
  return runs.flatMap((run) => {
    const where = `${file}, line ${run.line}: `;
    if (netlist.nets.every(({ name }) => name !== run.net))
      return [`${where}there is no net ${run.net}; mend the name`];
    return namesTouched(run).flatMap((name) => {
      const pin = pins.get(name);
      if (!pin || netOf(netlist, endOf(pin) ?? '')?.name === run.net) return [];
      return [`${where}the wire of ${run.net} touches ${nameOf(pin)} in ${name}; lead it round`];
    });
  });
}

const namesTouched = (run: Run): string[] => [...new Set(touched(run).map(holeName))];

/** Wires of two nets touch nowhere. */
function wiresMeet({ file, runs }: Placement): string[] {
  return runs.flatMap((run, index) =>
    runs.slice(index + 1).flatMap((other) => {
      const meeting =
        other.net === run.net
          ? undefined
          : namesTouched(run).find((name) => namesTouched(other).includes(name));
      return meeting
        ? [`${file}, line ${other.line}: wires of ${run.net} and ${other.net} meet in ${meeting}; move one`]
        : [];
    }),
  );
}

/** The wires of a net hang together and reach all its pins. */
function pinsApart(netlist: Netlist, { file, parts, runs }: Placement): string[] {
  const pins = parts.flatMap((part) => pinsOf(part).map((pin) => ({ pin, line: part.line })));
  return netlist.nets.flatMap((net) => {
    const own = pins.filter(({ pin }) => net.ends.includes(endOf(pin) ?? ''));
    const [first] = own;
    if (!first || own.length < 2) return [];
    const reached = holesFrom(
      holeName(first.pin.hole),
      runs.filter((run) => run.net === net.name),
    );
    return own
      .filter(({ pin }) => !reached.has(holeName(pin.hole)))
      .map(
        ({ pin, line }) =>
          `${file}, line ${line}: ${endOf(pin)} in ${holeName(pin.hole)} is not joined to ${endOf(first.pin)}; wire ${net.name} to it`,
      );
  });
}

/** The holes that wires join with one, itself included. */
function holesFrom(start: string, runs: readonly Run[]): ReadonlySet<string> {
  const reached = new Set([start]);
  let rest = runs.map(namesTouched);
  for (let found = rest; found.length > 0; ) {
    found = rest.filter((names) => names.some((name) => reached.has(name)));
    rest = rest.filter((names) => !found.includes(names));
    for (const name of found.flat()) reached.add(name);
  }
  return reached;
}
