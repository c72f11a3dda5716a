import { once } from 'node:events';
import { existsSync, writeFileSync } from 'node:fs';
import { connect, type Socket } from 'node:net';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { PROGRAM, type Run, until } from '../program.js';
import { type FieldDay, minutesIn } from './day.js';

/** The program that a steered day runs in, and the folder of the built program. */
export const STEERED = fileURLToPath(new URL('steered.mjs', import.meta.url));
export const BUILD = fileURLToPath(new URL('../../', new URL(`file://${PROGRAM}`)));

/** A day under way in another process, which stands still but for what it is told. */
export interface Steering {
  /** Moves on to a time of day, as 09:40. */
  to(time: string): Promise<void>;
  /** Waits until the screen has taken so many characters more. */
  took(characters: number): Promise<void>;
  /** Unplugs the board from the host, or plugs it in again. */
  cable(state: 'out' | 'in'): Promise<void>;
  /** Runs a command line at that moment. */
  run(...line: readonly string[]): Promise<Run>;
  close(): void;
}

export const writeDay = (folder: string, { ride, carrier }: FieldDay): void =>
  writeFileSync(join(folder, 'day.json'), JSON.stringify({ ride, carrier }));

/** Tries so often, a twentieth of a second apart. */
const TRIES = 100;

/** Connects to a socket whose file is there: on a busy machine that is a moment before anybody listens. */
async function connected(path: string): Promise<Socket> {
  for (let left = TRIES; ; left -= 1) {
    const socket = connect(path);
    try {
      await once(socket, 'connect');
      return socket;
    } catch (error) {
      if (left === 0) throw error;
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
  }
}

/** Takes the wheel of the day in a folder, once it has begun. */
export async function steer(folder: string): Promise<Steering> {
  const path = join(folder, 'steer.sock');
  await until('the day to begin', () => existsSync(path));
  const socket = await connected(path);
  const lines = createInterface({ input: socket })[Symbol.asyncIterator]();
  const ask = async (question: object): Promise<unknown> => {
    socket.write(`${JSON.stringify(question)}\n`);
    const { value, done } = await lines.next();
    if (done === true) throw new Error('the day ended');
    return JSON.parse(value as string);
  };
  let typed = 0;
  return {
    took: async (characters) => {
      typed += characters;
      await ask({ keys: typed });
    },
    to: async (time) => void (await ask({ until: minutesIn(time) * 60_000 })),
    cable: async (state) => void (await ask({ cable: state })),
    run: async (...line) => (await ask({ run: [...line, '--store', 'day.sqlite'] })) as Run,
    close: () => void socket.destroy(),
  };
}
