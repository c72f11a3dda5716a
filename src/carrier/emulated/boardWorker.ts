import { parentPort, workerData } from 'node:worker_threads';
import { findScenario } from '../../emulator/scenarios/index.js';
import { scenarioBoard } from './scenarioBoard.js';

/** The thread of one emulated carrier: takes how far to run and what the host says, answers with what was sent. */
export interface WorkerData {
  readonly scenario: string;
  readonly carrierIndex: number;
}

/** @see ScenarioBoard.run */
export interface RunRequest {
  readonly untilMs: number;
  readonly said: string;
}

const { scenario: name, carrierIndex } = workerData as WorkerData;
const scenario = findScenario(name);
const carrier = scenario?.carriers[carrierIndex];
if (!scenario || !carrier || !parentPort) throw new Error(`no carrier ${carrierIndex} in scenario ${name}`);
const board = scenarioBoard(scenario, carrier);
const port = parentPort;
port.on('message', ({ untilMs, said }: RunRequest) => port.postMessage(board.run(untilMs, said)));
