import { cupsWith, type InventedYard } from './inventedYards.js';

const cold = () => 10;
/** Yards that are hard to put on a page, by what is hard about them. */
export const DIFFICULT: Record<string, InventedYard[]> = {
  'three yards': [
    {
      yard: 'alder-07',
      cups: cupsWith([5, 3], [2, 4], [8, 1], [3, 3], [6, 2], [1, 1], [0, 2], [4, 4], [9, 3], [2, 2]).map(
        (c, i) => (i < 3 ? { ...c, celsius: cold } : c),
      ),
    },
    {
      yard: 'sedge-12',
      cups: cupsWith([2, 8], [3, 9], [1, 9], [3, 7], [6, 9], [1, 6], [0, 7], [4, 12], [3, 9], [2, 7]).map(
        (c) => ({ ...c, celsius: () => 22 }),
      ),
    },
    {
      yard: 'clover-03',
      cups: cupsWith([0, 1], [1, 0], [0, 0], [0, 0], [2, 0], [0, 0], [0, 0], [1, 0], [0, 0], [0, 0]).map(
        (c, i) => (i > 7 ? { ...c, kind: 'no-strip' as const } : c),
      ),
    },
  ],
  'no mites': [{ yard: 'alder-07', cups: cupsWith([0, 0], [0, 0], [0, 0]) }],
  'one cup': [{ yard: 'alder-07', cups: cupsWith([7, 3]) }],
  'all ruled out': [
    { yard: 'alder-07', cups: cupsWith([7, 3], [4, 4], [6, 3]).map((c) => ({ ...c, celsius: cold })) },
  ],
  'long labels': [
    {
      yard: 'yard-of-a-code-with-32-letters-x',
      cups: cupsWith([7, 3], [4, 4], [6, 3], [3, 2], [5, 5], [3, 3]).map((c, i) => ({
        ...c,
        colony: `<b>"Queen & Country"</b> hive of the second row, number ${i}`,
        lot: i % 2 ? '<i>L&8</i> from the second box of the year before last' : 'L9',
      })),
    },
  ],
  'no strip': [
    { yard: 'alder-07', cups: cupsWith([1, 9], [0, 4]).map((c) => ({ ...c, kind: 'no-strip' as const })) },
  ],
  provisional: [
    {
      yard: 'alder-07',
      cups: cupsWith([5, 3], [2, 4], [8, 1], [3, 3], [6, 2], [1, 1], [0, 2], [4, 4], [9, 3], [2, 2]).map(
        (c, i) => (i > 1 ? { ...c, wash: null } : c),
      ),
    },
    {
      yard: 'sedge-12',
      cups: cupsWith([2, 8], [3, 9], [1, 9], [3, 7], [6, 9], [1, 6], [0, 7], [4, 12], [3, 9], [2, 7]).map(
        (c) => ({ ...c, wash: null }),
      ),
    },
    {
      yard: 'clover-03',
      cups: cupsWith([2, 8], [3, 9], [1, 9], [3, 7], [6, 9], [1, 6], [0, 7], [4, 12], [3, 9], [2, 7]).map(
        (c) => ({ ...c, wash: null, bees: null }),
      ),
    },
  ],
};
