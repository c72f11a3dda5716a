import { basename } from 'node:path';
import { type Command, Option } from 'commander';
import { fieldSheets } from '../../report/plan/fieldSheet.js';
import {
  checkedGrid,
  DEFAULT_GRIDS,
  type LabelGrid,
  PAPERS,
  type Paper,
} from '../../report/plan/labelGrid.js';
import { labelSheet, spareLabels } from '../../report/plan/labelSheet.js';
import type { CodeKind } from '../../report/plan/machineCode.js';
import { parseDecimal } from '../../units/number.js';
import { Refusal } from '../../units/refusal.js';
import type { Context } from '../context.js';
import { readReadyCsv } from '../csv/readyCsv.js';
import { handOut } from '../handOut.js';
import { wholeIn } from '../wholeIn.js';

interface LabelOptions {
  readonly out?: string;
  readonly paper: Paper;
  readonly grid?: string;
  readonly label?: string;
  readonly margin?: string;
  readonly gap?: string;
  readonly skip: string;
  readonly copies: string;
  readonly spares: string;
  readonly code: CodeKind;
  readonly cutLines?: true;
}

/** `plan sheet` and `plan labels`: what is printed from a plan that is ready. */
export function definePrint(plan: Command, context: Context): void {
  plan
    .command('sheet <planned>')
    .description('field sheets to print and write on, one a yard, from a plan of plan day --out')
    .option('--out <file>', 'the HTML file to write (default: standard output)')
    .action(async (file: string, options: { out?: string }) =>
      handOut(fieldSheets(await readReadyCsv(file), basename(file)), options.out, context),
    );

  plan
    .command('labels <planned>')
    .description('sheets of cup labels to print at 100 %, from a plan of plan day --out')
    .option('--out <file>', 'the HTML file to write (default: standard output)')
    .addOption(new Option('--paper <paper>', 'the sheet').choices(Object.keys(PAPERS)).default('a4'))
    .option('--grid <columnsxrows>', 'labels on a sheet (default: 3x8 on A4, 3x10 on Letter)')
    .option('--label <mm>', 'size of a label (default: 70x37 on A4, 66.7x25.4 on Letter)')
    .option('--margin <mm>', 'from the left and upper edge to the first label (default: 0x0.5, 4.75x12.7)')
    .option('--gap <mm>', 'between labels, across and down (default: 0x0, 3.2x0)')
    .option('--skip <number>', 'labels of the first sheet that are used up', '0')
    .option('--copies <number>', 'of each label', '1')
    .option('--spares <number>', 'labels for cups that take the place of others', '4')
    .addOption(new Option('--code <code>', 'what scanners read').choices(['qr', 'code128']).default('qr'))
    .option('--cut-lines', 'draw where to cut plain paper')
    .action(async (file: string, options: LabelOptions) => {
      const cups = await readReadyCsv(file);
      const grid = gridOf(options);
      const spares = spareLabels(cups, wholeIn('spares', options.spares, 0, 100));
      if (spares === null)
        throw new Refusal(
          `The last label of ${file} does not end in a number, so none can follow it; give --spares 0.`,
        );
      const text = labelSheet([...cups, ...spares.map((cup) => ({ cup }))], {
        ...{ grid, code: options.code, isCut: options.cutLines === true },
        skip: wholeIn('skip', options.skip, 0, grid.columns * grid.rows - 1),
        copies: wholeIn('copies', options.copies, 1, 10),
      });
      handOut(text, options.out, context);
    });
}

function gridOf({ paper, grid, label, margin, gap }: LabelOptions): LabelGrid {
  const usual = DEFAULT_GRIDS[paper];
  const [columns, rows] = pairIn('grid', grid, 1, 40) ?? [usual.columns, usual.rows];
  if (!Number.isInteger(columns) || !Number.isInteger(rows))
    throw new Refusal(`--grid ${grid} will not do; write whole numbers of columns and rows, as 3x8.`);
  return checkedGrid({
    ...{ paper, columns, rows },
    label: pairIn('label', label, 10, 300) ?? usual.label,
    margin: pairIn('margin', margin, 0, 300) ?? usual.margin,
    gap: pairIn('gap', gap, 0, 100) ?? usual.gap,
  });
}

/** `70x37`; null when it was not given. */
function pairIn(
  option: string,
  text: string | undefined,
  least: number,
  most: number,
): [number, number] | null {
  if (text === undefined) return null;
  const [first, second, ...rest] = text.split('x').map((part) => parseDecimal(part));
  const fine = (value: number | null | undefined): value is number =>
    value !== null && value !== undefined && value >= least && value <= most;
  if (!fine(first) || !fine(second) || rest.length > 0)
    throw new Refusal(
      `--${option} ${text} will not do; write two numbers from ${least} to ${most}, as 70x37.`,
    );
  return [first, second];
}
