import { resolve } from 'node:path';
import type { Command } from 'commander';
import { CheckFailed } from './checkFailed.js';
import type { Finding } from './checkup/finding.js';
import { machineAt } from './checkup/machine.js';
import { machineChecks } from './checkup/machineChecks.js';
import { storeChecks } from './checkup/storeChecks.js';
import { type Context, onStore, type StoreOptions } from './context.js';

const SIGNS: Readonly<Record<Finding['state'], string>> = { good: 'ok  ', look: 'LOOK', bad: 'BAD ' };

/** The command `checkup`: the computer and the store before a day in the field. */
export function define(command: Command, { io, clock }: Context): void {
  onStore(command).action(({ store, json }: StoreOptions) => {
    const machine = machineAt('/');
    // What a machine is asked for is named from its root.
    const findings = [...machineChecks(machine), ...storeChecks(resolve(store), machine, clock.utc())];
    if (json) io.out(JSON.stringify({ findings }));
    else for (const finding of findings) io.out(inWords(finding));
    const failed = findings.filter(({ state }) => state === 'bad').length;
    if (failed > 0) throw new CheckFailed(`${failed} of ${findings.length} checks failed.`);
  });
}

function inWords({ check, state, says, cure }: Finding): string {
  const found = `${SIGNS[state]}  ${check.padEnd(10)}  ${says}`;
  return cure === null ? found : `${found}\n${' '.repeat(18)}-> ${cure}`;
}
