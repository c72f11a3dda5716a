import {
  BOARD_PF,
  busBudget,
  CABLE_PF_PER_M,
  LEAD_M,
  PROBE_PF,
  PROVEN_RISE_US,
  TRUNK_M,
} from './busBudget.js';
import { type Netlist, netOf } from './netlist.js';
import { CHIP_V_LEAST, powerBudget, RAIL_V } from './powerBudget.js';

const WRITTEN = (file: string) => `Written from \`${file}\` by \`npm run drawings\`; do not edit.`;

/** Every net with what it joins, and every part with its pins: Markdown. */
export function connectionTable(netlist: Netlist): string {
  const prints = new Map<string, string>(
    netlist.parts.flatMap(({ ref, pins }) =>
      pins.map(({ name, print }) => [`${ref}.${name}`, print === name ? '' : ` (${print})`] as const),
    ),
  );
  const nets = netlist.nets.map(({ name, ends }) => {
    const joined = grouped(ends, netlist.slots).map((end) => `${end}${prints.get(end) ?? ''}`);
    return `| ${name} | ${joined.join(', ')} | |`;
  });
  const parts = netlist.parts
    .filter(({ ref, kind }) => kind !== 'probe' || ref === 'P1')
    .map(({ ref, value, pins, where, kind }) => {
      const home = ({ name, print }: { name: string; print: string }) =>
        `${name}${print === name ? '' : ` (${print})`} → ${netOf(netlist, `${ref}.${name}`)?.name}`;
      const shown = kind === 'probe' ? `P1 to P${netlist.slots}` : ref;
      return `| ${shown} | ${value} | ${where} | ${pins.map(home).join(', ')} |`;
    });
  return [
    '# Connections',
    '',
    WRITTEN(netlist.file),
    'The picture is [wiring.svg](wiring.svg); the holes of the perforated board are in [perfboard.md](perfboard.md). A part is REF, its pin stands after the point; in brackets what is printed on common boards.',
    '',
    '## What is joined',
    '',
    'Tick each when it is soldered and again when the meter beeps between all its ends and not to the net above it (5V and 5V_TRUNK do',
    'beep, through F2).',
    '',
    '| net | joins | ✓ |',
    '|---|---|---|',
    ...nets,
    '',
    '## Parts',
    '',
    '| part | value | where | pin → net |',
    '|---|---|---|---|',
    ...parts,
    '',
  ].join('\n');
}

/** `P1.GND P2.GND ...` as `P1.GND to P10.GND`. */
function grouped(ends: readonly string[], slots: number): string[] {
  if (slots < 3) return [...ends];
  return ends.flatMap((end) => {
    const [, slot, pin] = /^P(\d+)\.(\w+)$/.exec(end) ?? [];
    if (slot === undefined) return [end];
    return slot === '1' ? [`P1.${pin} to P${slots}.${pin}`] : [];
  });
}

/** Bus and power in figures: Markdown. */
export function budgetTable(netlist: Netlist): string {
  const power = powerBudget(netlist.slots);
  const bus = [3, netlist.slots, 16].flatMap((probes) =>
    [1500, 2200, 4700].map((ohms) => busBudget(probes, ohms)),
  );
  return [
    '# Budgets',
    '',
    WRITTEN(netlist.file),
    'All figures are reckoned, none is measured: **nothing here has run on physical hardware yet**.',
    '',
    '## The bus',
    '',
    `After a low the line rises through the pull-up R against all that hangs on it. It is high for the board at 0.6 of the supply
(ATmega328P datasheet, V_IH; from memory), after

    t = R C ln(1 / (1 - 0.6)) = 0.916 R C,   C = ${CABLE_PF_PER_M} pF/m x cable + ${PROBE_PF} pF x probes + ${BOARD_PF} pF

Cable: trunk ${TRUNK_M.fromBoard} m and ${TRUNK_M.aSlot} m a slot, and each probe's lead of ${LEAD_M} m. ${CABLE_PF_PER_M} pF/m: the upper end of thin cables
(common practice, no source). ${PROBE_PF} pF: DS18B20 datasheet (from memory). ${BOARD_PF} pF: common practice, no source. The limit is ${PROVEN_RISE_US} us, the rise with which
the firmware's own image reads every probe on the emulated bus and keeps to the datasheet's windows
(\`tests/hardware/firmware/timing.test.ts\`, "slow-rising"). A probe may sink 4 mA (datasheet 19-7487 Rev 4): hence no pull-up below 1.5 kOhm.
One straight trunk with short leads: long-line advice is in Tutorial 148, "Guidelines for Reliable Long Line 1-Wire Networks", 2008.`,
    '',
    '| probes | pull-up | cable | C | rise | within 4 us | cable at most | current |',
    '|---|---|---|---|---|---|---|---|',
    ...bus.map(
      (budget) =>
        `| ${budget.probes} | ${budget.ohms / 1000} kOhm | ${budget.cableM.toFixed(2)} m | ${budget.picofarads.toFixed(0)} pF | ${budget.riseUs.toFixed(2)} us | ${budget.riseUs <= PROVEN_RISE_US ? 'yes' : '**no**'} | ${budget.cableMMost.toFixed(1)} m | ${budget.sinkMilliamperes.toFixed(1)} mA |`,
    ),
    '',
    '## Power',
    '',
    '| what draws | usual, mA | most, mA | source |',
    '|---|---|---|---|',
    ...power.draws.map(
      ({ what, usual, most, source }) => `| ${what} | ${usual.toFixed(1)} | ${most.toFixed(1)} | ${source} |`,
    ),
    `| **together** | **${power.milliamperes.usual.toFixed(0)}** | **${power.milliamperes.most.toFixed(0)}** | |`,
    `| **at 5 V** | **${power.watts.usual.toFixed(2)} W** | **${power.watts.most.toFixed(2)} W** | |`,
    '',
    'Hours = Wh x 0.75 / W at the usual draw; 0.75 is what converter and diode leave (common practice, no source).',
    '',
    '| battery | Wh | hours |',
    '|---|---|---|',
    ...power.hours.map(({ what, wattHours, hours }) => `| ${what} | ${wattHours} | ${hours.toFixed(0)} |`),
    '',
    `Many power banks switch off below some 50 to 100 mA (common practice, no source), and a carrier draws less: take one with a mode for
small loads, and try it for a whole night. Lithium cells: do not charge or leave them in a hot vehicle ([safety](../../docs/safety.md)).

The board's 5 V pin gets ${RAIL_V.least.toFixed(2)} to ${RAIL_V.most.toFixed(2)} V: adapter 4.75 to 5.25 V less the diode's 0.15 to 0.32 V (from memory: USB 2.0, 7.2.2; 1N5817).
The chip at 16 MHz needs ${CHIP_V_LEAST.toFixed(2)} V (ATmega328P datasheet, speed grades; from memory), a DS18B20 3.0 V. Boards usually come with the brown-out
detector at 2.7 V; with the 4.3 V of \`make fuses\`, which may trip anywhere from 4.1 to 4.5 V (from memory), the pin must have at least 4.6 V: measure it.`,
    '',
  ].join('\n');
}
