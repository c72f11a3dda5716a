import { Worker } from 'node:worker_threads';
import type { RunRequest, WorkerData } from './boardWorker.js';
import type { Chunk } from './scenarioBoard.js';

/** A scenario's carrier in a thread of its own, so that several run side by side. */
export interface EmulatedCarrier {
  /** Says something to the board, runs to `untilMs` after the scenario's start and gives what the board sent meanwhile. */
  run(untilMs: number, said: string): Promise<readonly Chunk[]>;
  stop(): Promise<void>;
}

export function emulatedCarrier(workerData: WorkerData): EmulatedCarrier {
  const worker = new Worker(new URL('./boardWorker.js', import.meta.url), { workerData });
  return {
    run: (untilMs, said) =>
      new Promise((resolve, reject) => {
        const settled = (settle: () => void) => {
          worker.off('message', done).off('error', failed);
          settle();
        };
        const done = (chunks: readonly Chunk[]) => settled(() => resolve(chunks));
        const failed = (error: Error) => settled(() => reject(error));
        worker.on('message', done).on('error', failed);
        worker.postMessage({ untilMs, said } satisfies RunRequest);
      }),
    stop: async () => {
      await worker.terminate();
    },
  };
}
