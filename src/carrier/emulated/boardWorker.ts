import { parentPort, workerData } from 'node:worker_threads';
import { findScenario } from '../../emulator/scenarios/index.js';
import type { UtcMs } from '../../units/time.js';
import { scenarioBoard } from './scenarioBoard.js';

/** The thread of one emulated carrier: takes how far to run and what the host says, answers with what was sent. */
export interface WorkerData {
  readonly scenario: string;
  readonly carrierIndex: number;
  /** When the scenario begins. */
  readonly start: UtcMs;
  /** How often this board was switched on before. */
  readonly boots: number;
}

/** @see ScenarioBoard.run */
export interface RunRequest {
  readonly untilMs: number;
  readonly said: string;
}

const { scenario: name, carrierIndex, start, boots } = workerData as WorkerData;
const scenario = findScenario(name, start);
const carrier = scenario?.carriers[carrierIndex];
if (!scenario || !carrier || !parentPort) throw new Error(`no carrier ${carrierIndex} in scenario ${name}`);
const board = scenarioBoard(scenario, carrier, boots);
const port = parentPort;
port.on('message', ({ untilMs, said }: RunRequest) => port.postMessage(board.run(untilMs, said)));
