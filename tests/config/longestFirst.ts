import { relative } from 'node:path';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Files of ten seconds and more, the longest first; `npm test` tells the seconds of each. */
export const LONG: readonly string[] = [
  'tests/logger/dayAlone.test.ts',
  'tests/end-to-end/play.test.ts',
  'tests/logger/disturbedClock.test.ts',
  'tests/end-to-end/diskOutage.test.ts',
  'tests/end-to-end/fieldDay.test.ts',
  'tests/end-to-end/killed.test.ts',
  'tests/end-to-end/service.test.ts',
  'tests/end-to-end/diskTrouble.test.ts',
  'tests/end-to-end/sync.test.ts',
  'tests/end-to-end/practice.test.ts',
  'tests/end-to-end/port.test.ts',
  'tests/hardware/firmware/powerCut.test.ts',
  'tests/hardware/firmware/log.test.ts',
  'tests/hardware/firmware/rules.test.ts',
  'tests/hardware/firmware/stuckLines.test.ts',
  'tests/cli/carrier/emulatedCarrier.test.ts',
  'tests/end-to-end/commission.test.ts',
  'tests/hardware/firmware/heartbeat.test.ts',
  'tests/hardware/firmware/faultTable.test.ts',
  'tests/logger/longRun.test.ts',
  'tests/store/powerLoss.test.ts',
  'tests/hardware/firmware/figures.test.ts',
  'tests/hardware/firmware/commands.test.ts',
  'tests/end-to-end/probeTerminal.test.ts',
  'tests/end-to-end/export.test.ts',
  'tests/end-to-end/earlyWarning.test.ts',
];

/** Starts long files first, so that none of them is what all others wait for in the end. */
export class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const place = ({ project, moduleId }: TestSpecification) => {
      const index = LONG.indexOf(relative(project.config.root, moduleId).replaceAll('\\', '/'));
      return index === -1 ? LONG.length : index;
    };
    return (await super.sort(files)).sort((one, other) => place(one) - place(other));
  }
}
