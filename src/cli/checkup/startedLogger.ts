import { basename, resolve } from 'node:path';
import { DEFAULT_STORE } from '../context.js';
import type { Machine } from './machine.js';

/**
 * The process of a logger that was started on a store, as Linux shows it; null when none is seen. One that waits for the disk at its
 * start can leave no sign of life in the store.
 */
export function startedLogger(store: string, machine: Machine): number | null {
  const found = machine.names('/proc').find((pid) => {
    if (!/^\d+$/.test(pid)) return false;
    const named = storeOf((machine.text(`/proc/${pid}/cmdline`) ?? '').split('\0'));
    if (named === null) return false;
    const path = resolve(machine.link(`/proc/${pid}/cwd`) ?? '/', named);
    return path === resolve(store) || machine.isSame(path, store);
  });
  return found === undefined ? null : Number(found);
}

const INTERPRETER = /^node(js)?(\.exe)?$/;

/** The store that a command line of `log` names; null when it is another's, who may have the same words in it. */
function storeOf(args: readonly string[]): string | null {
  const isNode = INTERPRETER.test(basename(args[0] ?? ''));
  const program = isNode ? args.findIndex((arg, index) => index > 0 && !arg.startsWith('-')) : 0;
  if (!/^stillwarm(\.js)?$/.test(basename(args[program] ?? '')) || args[program + 1] !== 'log') return null;
  const at = args.lastIndexOf('--store');
  if (at >= 0) return args[at + 1] ?? null;
  return args.findLast((arg) => arg.startsWith('--store='))?.slice('--store='.length) ?? DEFAULT_STORE;
}
