import { userInfo } from 'node:os';
import { Refusal } from '../units/refusal.js';

const NAME_MAX = 80;

/** The option by which a person is told to `whoDoes`; `does` says of whom it asks, as "who says so". */
export const byOption = (does: string) =>
  ['--by <name>', `${does}; kept beside the facts (default: the name of this user)`] as const;

/** Who does it: as told, else whoever is logged in on this computer. Kept out of the chain of facts. */
export function whoDoes({ by }: { readonly by?: string }): string {
  const name = (by ?? loggedIn() ?? '').trim();
  if (name === '' || name.length > NAME_MAX)
    throw new Refusal(`--by needs a name of at most ${NAME_MAX} letters.`);
  return name;
}

/** Whoever is logged in on this computer; undefined for a service that runs under a number without a name. */
export function loggedIn(): string | undefined {
  try {
    return userInfo().username;
  } catch {
    return undefined;
  }
}
