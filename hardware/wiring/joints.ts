import { shownValue } from './drawing.js';
import { type Netlist, netOf } from './netlist.js';
import { endOf, holeName, type PlacedPin, type Placement, pinsOf } from './placement.js';

/** The perforated board hole by hole, in the order in which it is soldered: Markdown. */
export function jointTable(netlist: Netlist, placement: Placement): string {
  const parts = placement.parts.flatMap((placed) => {
    const part = netlist.parts.find(({ ref }) => ref === placed.ref);
    if (!part) return [];
    const homes = pinsOf(placed).flatMap(({ pin, hole }) => {
      const own = part.pins.find(({ name }) => name === pin);
      if (!own) return [];
      return [`${own.name}${own.print === own.name ? '' : ` (${own.print})`} ${holeName(hole)}`];
    });
    const unused = pinsOf(placed).filter(({ pin }) => pin === null).length;
    const rest = unused === 0 ? '' : `; ${unused} pins unused`;
    return [`| ${part.ref} | ${shownValue(part)} | ${homes.join(', ')}${rest} | |`];
  });
  const wires = placement.runs.map(({ net, isBare, holes }) => {
    const way = holes.map(holeName).join(isBare ? ' – ' : ' to ');
    return `| ${net} | ${isBare ? 'bare' : 'insulated'} | ${way} | |`;
  });
  const joints = netlist.nets.flatMap(({ name }) => {
    const own = placement.parts
      .flatMap(pinsOf)
      .filter((pin) => netOf(netlist, endOf(pin) ?? '')?.name === name);
    return own.length < 2 ? [] : [`| ${name} | ${own.map(jointName).join(', ')} | |`];
  });
  const elsewhere = netlist.nets
    .map(({ name }) => name)
    .filter((name) => !joints.some((row) => row.startsWith(`| ${name} |`)));
  return [
    '# The perforated board, hole by hole',
    '',
    `Written from \`${placement.file}\` and \`${netlist.file}\` by \`npm run drawings\`; do not edit.`,
    'The picture is [perfboard.svg](perfboard.svg). Rows are letters, columns numbers, both seen from above: B12 is row B, column 12.',
    '',
    '## Parts, from above',
    '',
    'Low parts first: resistors and diode, then C2 and C3, the sockets, F2, C1 and the terminals.',
    '',
    '| part | value | pin and hole | ✓ |',
    '|---|---|---|---|',
    ...parts,
    '',
    '## Wires, from below',
    '',
    'A bare wire is soldered to every pin that it passes. Insulated ones come last.',
    '',
    '| net | wire | from hole to hole | ✓ |',
    '|---|---|---|---|',
    ...wires,
    '',
    '## Joints, net by net',
    '',
    'When all is soldered and nothing is plugged in: the meter beeps between the first hole of a row and each other of it, and not to the',
    'first of the next row. Only 5V and 5V_TRUNK beep, through F2; C1 may give a short beep while it charges.',
    '',
    '| net | hole (pin) | ✓ |',
    '|---|---|---|',
    ...joints,
    '',
    `Not on this board: ${elsewhere.join(', ')}.`,
    '',
  ].join('\n');
}

const jointName = (pin: PlacedPin): string => `${holeName(pin.hole)} (${endOf(pin)})`;
