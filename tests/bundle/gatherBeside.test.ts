import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { checkToGather, gatherBundles } from '../../src/bundle/gather.js';
import { writeBundle } from '../../src/bundle/write.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseCarrierId } from '../../src/units/ids.js';
import { utcMs } from '../../src/units/time.js';
import { MORNING, type Morning, morningStore, openVisit, romOf, writing } from './invented.js';

/** Gathering into a store in which others record at the same time: they wait for some seconds at most, so it must not keep them waiting. */
const NOW = utcMs(MORNING.opened + 24 * 3_600_000);
const elsewhere: Morning = { ...MORNING, yard: 'heather-02' };
/** Somebody says in which slot a probe of the lab's own sits. */
const recordBeside = () =>
  beside.transaction(() =>
    beside.append(NOW, {
      type: 'probe-assigned',
      carrier: parseCarrierId('L')!,
      slot: 1,
      rom: romOf(99),
      at: NOW,
    }),
  );

let folder: string;
let lab: Store;
/** What somebody else does in the same store, a connection of its own. */
let beside: Store;
let bundle: string;
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-beside-'));
  const vehicle = morningStore(join(folder, 'vehicle.sqlite'), MORNING);
  bundle = join(folder, 'bundle');
  await writeBundle(vehicle, writing(bundle));
  vehicle.close();
  lab = openStoreToWrite(join(folder, 'lab.sqlite'), NOW);
  beside = openStoreToWrite(join(folder, 'lab.sqlite'), NOW);
});
afterEach(() => {
  lab.close();
  beside.close();
  rmSync(folder, { recursive: true });
});

/** Gathers with something done each time the conflicts are looked for, and right before each transaction. */
async function gather(does: { onLook?: () => void; onTransaction?: () => void }) {
  const checked = await checkToGather(bundle);
  const { onLook, onTransaction } = does;
  const watched: Store = {
    ...lab,
    chains: () => {
      const chains = lab.chains();
      onLook?.();
      return chains;
    },
    transaction: (task) => {
      onTransaction?.();
      return lab.transaction(task);
    },
  };
  return gatherBundles(watched, [checked], () => lab.keepText('The lab'), NOW);
}
const types = () => lab.facts().map(({ fact }) => fact.type);

describe('gatherBundles() in a store in which others record', () => {
  it('has read and prepared all of a bundle before it keeps anybody waiting', async () => {
    let transactions = 0;
    const found = await gather({
      onTransaction: () => {
        transactions += 1;
        // Whoever read it later would fail.
        rmSync(bundle, { recursive: true });
      },
    });
    expect(transactions).toBe(1);
    expect(found).toMatchObject({ visits: ['alder-1'], newReadings: 2400 });
    expect(lab.brokenGathered()).toEqual([]);
  });

  it('keeps nobody waiting while it looks for conflicts, and looks again when somebody recorded something', async () => {
    let looks = 0;
    const found = await gather({
      onLook: () => {
        looks += 1;
        // Would wait for 5 s and be refused if it were kept out.
        if (looks === 1) recordBeside();
      },
    });
    expect(looks).toBe(2);
    expect(found).toMatchObject({ newReadings: 2400 });
    expect(types()).toEqual(['store-created', 'probe-assigned', 'chain-gathered']);
  });

  it('sees the conflict with what somebody recorded while it looked for conflicts, and gathers nothing', async () => {
    let looks = 0;
    const refused = gather({
      onLook: () => {
        looks += 1;
        if (looks === 1) openVisit(beside, elsewhere);
      },
    });
    await expect(refused).rejects.toThrow('Visit alder-1 was opened with another yard');
    expect(lab.chains()).toHaveLength(1);
  });

  it('comes to an end although somebody records something each time it looks', async () => {
    let looks = 0;
    const found = await gather({
      onLook: () => {
        looks += 1;
        if (looks <= 3) recordBeside();
      },
    });
    // The last look is in the transaction, while all others wait.
    expect(looks).toBe(4);
    expect(found).toMatchObject({ newReadings: 2400 });
  });

  it('keeps others out while it puts in what is ready (negative control: then they wait, and are refused in a sentence)', async () => {
    let refusal = '';
    await gather({
      onLook: () => {
        if (refusal === '')
          lab.transaction(() => {
            try {
              recordBeside();
            } catch (error) {
              refusal = (error as Error).message;
            }
          });
      },
    });
    expect(refusal).toBe(
      `${join(folder, 'lab.sqlite')} is kept busy by another program for more than 5 s; stop that program and try again.`,
    );
  });
});
