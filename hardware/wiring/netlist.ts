import { z } from 'zod';
import { Refusal } from '../../src/units/refusal.js';

/** The kinds of parts and the pins each must have; a kind may have more pins only where its list ends with null. */
const PINS_OF = {
  'vehicle-socket': ['12V', 'GND'],
  fuse: ['in', 'out'],
  'resettable-fuse': ['in', 'out'],
  adapter: ['12V', '5V', 'GND'],
  host: ['VBUS', 'D-', 'D+', 'GND'],
  diode: ['A', 'K'],
  led: ['A', 'K'],
  board: ['5V', 'GND', 'D-', 'D+', null],
  resistor: ['1', '2'],
  capacitor: ['+', '-'],
  ceramic: ['1', '2'],
  terminal: ['GND', null],
  memory: ['VCC', 'GND', 'SDA', 'SCL', 'A0', 'A1', 'A2', 'WP'],
  clock: ['VCC', 'GND', 'SDA', 'SCL', 'VBAT'],
  'coin-cell': ['+', '-'],
  button: ['1', '2'],
  piezo: ['1', '2'],
  probe: ['GND', 'DQ', 'VDD'],
} as const;

export type PartKind = keyof typeof PINS_OF;
const KINDS = Object.keys(PINS_OF) as PartKind[];

/** A pin of a part; `print` is what stands beside it on a ready-made board, or its own name. */
export interface Pin {
  readonly name: string;
  readonly print: string;
}

export interface Part {
  readonly ref: string;
  readonly kind: PartKind;
  readonly value: string;
  readonly pins: readonly Pin[];
  /** Where it sits: in the box, on the board, at a slot. */
  readonly where: string;
  readonly line: number;
}

/** What is joined by wire; an end is `REF.pin`. */
export interface Net {
  readonly name: string;
  readonly ends: readonly string[];
  readonly line: number;
}

export interface Netlist {
  readonly file: string;
  readonly slots: number;
  readonly parts: readonly Part[];
  readonly nets: readonly Net[];
}

/** Probes on the firmware's one bus at most; a test holds it equal to `frames.h`. */
export const SLOTS_MAX = 16;

const REF = /^(?:[A-Z]{1,2}\d+|P\*)$/;
const slotsLine = z.coerce
  .number('the number of slots must be a number; write "slots 10"')
  .int('the number of slots must be whole')
  .min(1, 'a carrier has at least one slot')
  .max(SLOTS_MAX, `one bus carries at most ${SLOTS_MAX} probes; build a second carrier`);
const pin = z
  .string()
  .regex(/^[\w+-]+(?:\([\w+-]+\))?$/, 'a pin is a name, or a name and its print such as PD2(D2)')
  .transform((text): Pin => {
    const [, name = '', print] = /^([^(]+)(?:\(([^)]+)\))?$/.exec(text) ?? [];
    return { name, print: print ?? name };
  });
const partLine = z.strictObject({
  ref: z.string().regex(REF, 'a part is named by letters and a number such as R1, or P* for all probes'),
  kind: z.enum(KINDS, `the kind must be one of ${KINDS.join(', ')}`),
  value: z.string().min(1, 'the value is missing; say what is bought, such as 2.2 kOhm'),
  pins: z.array(pin).min(2, 'a part has at least two pins'),
  where: z.string().min(1, 'where the part sits is missing; write box, slot or the like'),
});
const netLine = z.strictObject({
  name: z.string().regex(/^[\w+-]+$/, 'a net is named by letters, digits, +, - and _ such as 5V_TRUNK'),
  ends: z.array(
    z.string().regex(/^[A-Z]{1,2}(?:\d+|\*)\.[\w+-]+$/, 'an end is written REF.pin such as R1.2'),
  ),
});

/**
 * Reads a netlist (its format stands at the head of `carrier.netlist`).
 *
 * @param file its name for messages
 * @throws {Refusal} naming file, line and cure for whatever is not of the format
 */
export function readNetlist(text: string, file: string): Netlist {
  const refuse = (line: number, problem: string): never => {
    throw new Refusal(`${file}, line ${line}: ${problem}`);
  };
  const take = <T>(schema: z.ZodType<T>, value: unknown, line: number): T => {
    const result = schema.safeParse(value);
    return result.success ? result.data : refuse(line, result.error.issues[0]?.message ?? 'not understood');
  };

  let slots: number | null = null;
  const parts = new Map<string, Part>();
  const nets = new Map<string, Net>();
  /** `P*` stands for the probe of every slot. */
  const each = (name: string, line: number): string[] => {
    if (!name.includes('*')) return [name];
    const count = slots ?? refuse(line, 'say how many slots there are ("slots 10") above the first P*');
    return Array.from({ length: count }, (_, index) => name.replace('*', String(index + 1)));
  };

  for (const [index, row] of text.split('\n').entries()) {
    const line = index + 1;
    const words = row.replace(/#.*$/, '').trim();
    if (words === '') continue;
    if (words.startsWith('slots ')) {
      slots = take(slotsLine, words.slice(6).trim(), line);
    } else if (words.startsWith('part ')) {
      const [ref, kind, value, pins = '', where, ...more] = words
        .slice(5)
        .split('|')
        .map((cell) => cell.trim());
      if (where === undefined || more.length > 0)
        refuse(line, 'a part has five cells: REF | kind | value | pins | where');
      const part = take(partLine, { ref, kind, value, pins: pins.split(/\s+/).filter(Boolean), where }, line);
      const wrong = pinsWrong(part);
      if (wrong) refuse(line, wrong);
      for (const one of each(part.ref, line)) {
        if (parts.has(one)) refuse(line, `${one} is there twice; give each part a number of its own`);
        parts.set(one, { ...part, ref: one, line });
      }
    } else if (words.startsWith('net ')) {
      const [name, ends, ...more] = words.slice(4).split(':');
      if (ends === undefined || more.length > 0) refuse(line, 'a net is written "net NAME: REF.pin REF.pin"');
      const net = take(
        netLine,
        { name: name?.trim(), ends: ends?.trim().split(/\s+/).filter(Boolean) },
        line,
      );
      if (nets.has(net.name)) refuse(line, `net ${net.name} is there twice; join its ends in one line`);
      nets.set(net.name, { name: net.name, ends: net.ends.flatMap((end) => each(end, line)), line });
    } else {
      refuse(line, `"${words.split(/\s+/)[0]}" is not known; a line begins with slots, part, net or #`);
    }
  }
  const netlist = {
    file,
    slots: slots ?? refuse(1, 'the line "slots N" is missing'),
    parts: [...parts.values()],
    nets: [...nets.values()],
  };
  for (const { ends, line } of netlist.nets)
    for (const end of ends) {
      const [ref = '', name] = splitEnd(end);
      const part = parts.get(ref) ?? refuse(line, `there is no part ${ref}; add it or mend the name`);
      if (!part.pins.some((own) => own.name === name))
        refuse(
          line,
          `${ref} has no pin ${name}; its pins are ${part.pins.map((own) => own.name).join(', ')}`,
        );
    }
  return netlist;
}

function pinsWrong({ ref, kind, pins }: Pick<Part, 'ref' | 'kind' | 'pins'>): string | null {
  const names = pins.map(({ name }) => name);
  const wanted: readonly (string | null)[] = PINS_OF[kind];
  const twice = names.find((name, index) => names.indexOf(name) !== index);
  if (twice !== undefined) return `${ref} has the pin ${twice} twice; name each pin once`;
  const missing = wanted.find((name) => name !== null && !names.includes(name));
  if (missing !== undefined) return `${ref} lacks the pin ${missing}; a ${kind} has ${pinNames(wanted)}`;
  const strange = names.find((name) => !wanted.includes(name));
  return strange !== undefined && !wanted.includes(null)
    ? `${ref} has a pin ${strange}, which a ${kind} has not; it has ${pinNames(wanted)}`
    : null;
}

const pinNames = (names: readonly (string | null)[]): string =>
  names.filter((name) => name !== null).join(', ');

/** `R1.2` as part and pin. */
export function splitEnd(end: string): [ref: string, pin: string] {
  const dot = end.indexOf('.');
  return [end.slice(0, dot), end.slice(dot + 1)];
}

/** The parts of a kind. */
export const partsOf = (netlist: Netlist, ...kinds: readonly PartKind[]): Part[] =>
  netlist.parts.filter(({ kind }) => kinds.includes(kind));

/** `FILE, line N: `, with which a sentence about a part or a net begins. */
export const at = ({ file }: Netlist, { line }: { readonly line: number }): string =>
  `${file}, line ${line}: `;

/** The net that holds `end`, or null. */
export const netOf = (netlist: Netlist, end: string): Net | null =>
  netlist.nets.find(({ ends }) => ends.includes(end)) ?? null;

/** A resistor's value in ohms; null when it is not written as `470 Ohm` or `4.7 kOhm`. */
export const ohms = (value: string): number | null => quantityIn(value, 'Ohm', { '': 1, k: 1000 });

/** A capacitor's value in nanofarads; null when it is not written as `100 nF` or `100 uF`. */
export const nanofarads = (value: string): number | null => quantityIn(value, 'F', { n: 1, u: 1000 });

/** A fuse's value in amperes; null when it is not written as `2 A`. */
export const amperes = (value: string): number | null => quantityIn(value, 'A', { '': 1 });

function quantityIn(value: string, unit: string, prefixes: Readonly<Record<string, number>>): number | null {
  const [, number, prefix, name] = /^(\d+(?:\.\d+)?) ([knu]?)([A-Z][a-z]*)$/.exec(value) ?? [];
  const factor = name === unit ? prefixes[prefix ?? ''] : undefined;
  return factor === undefined ? null : Number(number) * factor;
}
