import type { Command } from 'commander';
import type { EmulatedSource } from '../../carrier/emulated/emulatedSource.js';
import type { BoardFaults } from '../../carrier/emulated/scenarioBoard.js';
import type { Fault, FaultKind } from '../../emulator/faults.js';
import type { Scenario, ScenarioCarrier } from '../../emulator/scenario.js';
import { Refusal } from '../../units/refusal.js';
import { type Context, several } from '../context.js';
import { morningNamed, speedOf } from '../scenarioOptions.js';

/** Options of commands that can be tried on an emulated carrier in place of a wired one. */
export interface EmulateOptions {
  readonly emulate?: true;
  readonly fault?: readonly string[];
  readonly speed: string;
}

/** What can be wrong with a probe, by the word that is typed; the others are of the whole board. */
const PROBE_FAULTS: Readonly<Record<string, FaultKind>> = {
  'loose-lead': 'loose-lead',
  damaged: 'damaged-scratchpad',
  zeros: 'all-zero',
  clone: 'clone-power-up-25',
};
const BUS_FAULTS: Readonly<Record<string, FaultKind>> = { short: 'short', 'bit-flips': 'bit-flips' };
const BOARD_FAULTS = ['no-memory', 'no-clock', 'stopped-clock'] as const;
const FAULT_NAMES = [
  ...Object.keys(PROBE_FAULTS).map((name) => `${name}:SLOT`),
  ...Object.keys(BUS_FAULTS),
  ...BOARD_FAULTS,
];

export const withEmulate = (command: Command): Command =>
  command
    .option('--emulate', 'try it on an emulated carrier, without a board')
    .option(
      '--fault <fault>',
      `with --emulate, may be given several times: ${FAULT_NAMES.join(', ')}`,
      several,
    )
    .option('--speed <times>', 'with --emulate: how many times faster than real, or max', 'max');

/** The first carrier of the invented cold morning. */
export async function emulatedCarrierOf(
  options: EmulateOptions,
  { clock }: Context,
): Promise<{ scenario: Scenario; carrier: ScenarioCarrier; source: EmulatedSource }> {
  const scenario = morningNamed('cold-morning');
  const carrier = scenario.carriers[0]!;
  const [{ emulatedSource }, speed] = [
    await import('../../carrier/emulated/emulatedSource.js'),
    speedOf(options.speed),
  ];
  const source = emulatedSource(scenario, carrier, {
    faults: faultsOf(options.fault ?? [], carrier),
    speed,
    real: clock,
  });
  return { scenario, carrier, source };
}

function faultsOf(texts: readonly string[], { slots }: ScenarioCarrier): BoardFaults {
  for (const text of texts) {
    const [name = '', slot] = text.split(':');
    const isOfProbe = name in PROBE_FAULTS;
    const isKnown = isOfProbe || name in BUS_FAULTS || BOARD_FAULTS.some((each) => each === name);
    if (!isKnown || isOfProbe !== (slot !== undefined))
      throw new Refusal(`--fault ${text} is no fault; choose ${FAULT_NAMES.join(', ')}.`);
    if (isOfProbe && !slots.some((each) => String(each.slot) === slot))
      throw new Refusal(`--fault ${text} names no slot of the carrier; it has 1 to ${slots.length}.`);
  }
  const has = (name: (typeof BOARD_FAULTS)[number]) => texts.includes(name);
  return {
    bus: texts.flatMap((text) => busFault(text, slots)),
    withoutMemory: has('no-memory'),
    clock: has('no-clock') ? 'absent' : has('stopped-clock') ? 'stopped' : 'running',
  };
}

/** A clone shows when it wakes: half a minute on its supply dips. */
const CLONE_WAKES_MS = 30_000;

function busFault(text: string, slots: ScenarioCarrier['slots']): Fault[] {
  const [name = '', slot] = text.split(':');
  const kind = PROBE_FAULTS[name] ?? BUS_FAULTS[name];
  if (kind === undefined) return [];
  const rom = slots.find((each) => String(each.slot) === slot)?.rom;
  const [fromMs, toMs] =
    name === 'clone' ? [CLONE_WAKES_MS, CLONE_WAKES_MS + 1] : [0, Number.POSITIVE_INFINITY];
  return [{ kind, fromMs, toMs, ...(rom === undefined ? {} : { rom }) }];
}
