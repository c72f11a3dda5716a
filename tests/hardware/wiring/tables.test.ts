import { expect, it } from 'vitest';
import { budgetTable, connectionTable } from '../../../hardware/wiring/tables.js';
import { CARRIER } from './files.js';

// `npm run drawings` writes both; without -u these compare.
it('`connections.md` tells the netlist', async () => {
  await expect(connectionTable(CARRIER)).toMatchFileSnapshot('../../../hardware/wiring/connections.md');
});

it('`budgets.md` tells the budgets', async () => {
  await expect(budgetTable(CARRIER)).toMatchFileSnapshot('../../../hardware/wiring/budgets.md');
});

it('`connectionTable()` names every net, and every pin with its print', () => {
  const table = connectionTable(CARRIER);
  for (const { name } of CARRIER.nets) expect(table).toContain(`\n| ${name} | `);
  expect(table).toContain('| DATA | U1.PD2 (D2), R1.2, P1.DQ to P10.DQ, X1.DQ | |');
  expect(table).toContain('| P1 to P10 | DS18B20, TO-92 | slot | GND → GND, DQ → DATA, VDD → 5V_TRUNK |');
});
