import { relative } from 'node:path';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Files of ten seconds and more, the longest first; `npm test` tells the seconds of each. */
export const LONG: readonly string[] = [
  'tests/end-to-end/play.test.ts',
  'tests/end-to-end/diskOutage.test.ts',
  'tests/logger/disturbedClock.test.ts',
  'tests/end-to-end/fieldDay.test.ts',
  'tests/logger/dayAlone.test.ts',
  'tests/end-to-end/practice.test.ts',
  'tests/end-to-end/service.test.ts',
  'tests/end-to-end/diskTrouble.test.ts',
  'tests/end-to-end/killed.test.ts',
  'tests/hardware/firmware/stuckLines.test.ts',
  'tests/end-to-end/heldStore.test.ts',
  'tests/hardware/firmware/log.test.ts',
  'tests/hardware/firmware/rules.test.ts',
  'tests/logger/syncs.test.ts',
  'tests/end-to-end/sync.test.ts',
  'tests/store/powerLoss.test.ts',
  'tests/hardware/firmware/powerCut.test.ts',
  'tests/logger/movedComputer.test.ts',
  'tests/logger/otherMemory.test.ts',
  'tests/cli/carrier/emulatedCarrier.test.ts',
  'tests/logger/powerLoss.test.ts',
  'tests/logger/brokenLink.test.ts',
  'tests/end-to-end/port.test.ts',
  'tests/end-to-end/export.test.ts',
  'tests/hardware/firmware/faultTable.test.ts',
  'tests/end-to-end/commission.test.ts',
  'tests/screen/session.soak.test.ts',
  'tests/hardware/firmware/heartbeat.test.ts',
  'tests/report/print.test.ts',
  'tests/end-to-end/offline.test.ts',
  'tests/logger/setAtStart.test.ts',
  'tests/logger/longRun.test.ts',
  'tests/end-to-end/bundle.test.ts',
  'tests/end-to-end/earlyWarning.test.ts',
  'tests/end-to-end/pipes.test.ts',
  'tests/report/plan/labelSheet.test.ts',
  'tests/cli/visit.test.ts',
  'tests/hardware/firmware/ring.test.ts',
  'tests/cli/logging/mirrorPump.test.ts',
  'tests/hardware/simavr/agreement.test.ts',
  'tests/hardware/carrier/model.test.ts',
  'tests/bundle/gather.test.ts',
  'tests/logger/coldRide.test.ts',
  'tests/mirror/faults.test.ts',
  'tests/carrier/stock/stockImage.test.ts',
  'tests/hardware/firmware/resets.test.ts',
  'tests/hardware/firmware/fuzz.test.ts',
  'tests/hardware/firmware/marks.test.ts',
  'tests/hardware/firmware/commands.test.ts',
  'tests/end-to-end/probeTerminal.test.ts',
  'tests/hardware/firmware/second.test.ts',
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
