import type { BoardSession } from '../../carrier/boardSession.js';
import type { CarrierSource } from '../../carrier/source.js';
import type { ScenarioCarrier } from '../../emulator/scenario.js';
import type { Clock } from '../../units/clock.js';
import { Refusal } from '../../units/refusal.js';
import type { Context } from '../context.js';
import { WrongCommandLine } from '../wrongCommandLine.js';
import { type EmulateOptions, emulatedCarrierOf } from './emulatedCarrier.js';

export const PORT = ['--port <port>', "the board's serial port"] as const;

/** Options of commands that talk to one board, on a port or emulated. */
export interface BoardOptions extends EmulateOptions {
  readonly port?: string;
}

/**
 * Holds a talk with the board on a port, or with an emulated one; gives what was heard, and the emulated carrier when it
 * was one.
 *
 * @throws {Refusal} when the options name neither or both, or nobody answers
 */
export async function onEither(
  options: BoardOptions,
  context: Context,
  howLong: string,
  talk: (session: BoardSession) => Promise<void>,
) {
  const { port, emulate } = options;
  if ((port === undefined) === (emulate === undefined))
    throw new WrongCommandLine('Give either --port, or --emulate to try it without a board.');
  refuseStrayFault(options);
  if (port !== undefined) {
    context.io.err(`listening to ${port}${howLong}`);
    return { ...(await onBoard(port, context, talk)), emulated: null };
  }
  const { source, carrier } = await emulatedCarrierOf(options, context);
  context.io.err(`listening to ${source.name}${howLong}${howLong === '' ? '' : ' of its time'}`);
  const emulated: ScenarioCarrier = carrier;
  return { ...(await onSource(source, source.clock, source.name, talk)), emulated };
}

/** Holds a talk with the board on a port, after it has said who it is. */
export async function onBoard(
  port: string,
  { clock }: Context,
  talk: (session: BoardSession) => Promise<void>,
) {
  const { serialBoard } = await import('../../carrier/serialBoard.js');
  return onSource(serialBoard(port, clock), clock, port, talk);
}

async function onSource(
  source: CarrierSource,
  clock: Clock,
  name: string,
  talk: (session: BoardSession) => Promise<void>,
) {
  const { boardSession, meetBoard } = await import('../../carrier/boardSession.js');
  return boardSession(source, clock, async (session) => {
    const { board } = await meetBoard(session, name);
    await talk(session);
    return { board, heard: session.heard };
  });
}

/** @throws {Refusal} when a fault is named and nothing is emulated */
export function refuseStrayFault({ fault, emulate }: BoardOptions): void {
  if (fault !== undefined && emulate === undefined)
    throw new WrongCommandLine('--fault is for --emulate; the faults of a wired carrier are its own.');
}

/** Reads a whole number that an option gives. @throws {Refusal} when it is none, or out of range */
export function whole(name: string, text: string, min: number, max: number): number {
  const value = /^\d{1,4}$/.test(text) ? Number(text) : Number.NaN;
  if (!(value >= min && value <= max))
    throw new Refusal(`--${name} ${text} is not possible; write a whole number from ${min} to ${max}.`);
  return value;
}
