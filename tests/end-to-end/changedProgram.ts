import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { PROGRAM } from './program.js';

const dataUrl = (source: string) => `data:text/javascript,${encodeURIComponent(source)}`;

/**
 * What Node is given to run the program with a piece of one module put otherwise, as it is loaded.
 *
 * @param module how the address of the module ends
 */
export function changedProgram(module: string, honest: string, instead: string): string[] {
  const hook = `export async function load(url, context, next) {
    const loaded = await next(url, context);
    if (!url.endsWith(${JSON.stringify(module)})) return loaded;
    const source = String(loaded.source);
    if (!source.includes(${JSON.stringify(honest)})) throw new Error('nothing to change in ' + url);
    return { ...loaded, source: source.replace(${JSON.stringify(honest)}, () => ${JSON.stringify(instead)}) };
  }`;
  const begin = `import { register } from 'node:module'; register(${JSON.stringify(dataUrl(hook))});`;
  return ['--import', dataUrl(begin), PROGRAM];
}

/** Says so, and waits until the program is told to stop: the code that stands there has a `signal`. */
const WAIT =
  "process.stderr.write('written'); await new Promise((go) => { const t = setInterval(() => signal.aborted && (clearInterval(t), go()), 10); });";

/**
 * Runs a command that waits in the middle, and sends it a signal there.
 *
 * @param program the program with that wait in it
 * @param look at what is half there, so that its absence afterwards says something
 */
export async function interrupted(
  program: (wait: string) => string[],
  args: readonly string[],
  signal: NodeJS.Signals,
  look: (pid: number) => void,
): Promise<{ child: ChildProcess; err: string }> {
  const child = spawn(process.execPath, [...program(WAIT), ...args], { stdio: ['ignore', 'ignore', 'pipe'] });
  let err = '';
  for await (const text of child.stderr!) {
    err += String(text);
    if (err === 'written') {
      look(child.pid!);
      child.kill(signal);
    }
  }
  if (child.exitCode === null && child.signalCode === null) await once(child, 'close');
  return { child, err };
}
