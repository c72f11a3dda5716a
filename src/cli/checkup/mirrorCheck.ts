import { authoritiesIn } from '../../mirror/authorities.js';
import { readCredentials } from '../../mirror/credentials.js';
import { refuseAuthorityWithoutTls, type Target, targetFromJson } from '../../mirror/target.js';
import type { Store } from '../../store/store.js';
import { Refusal } from '../../units/refusal.js';
import { formatInstant } from '../../units/time.js';
import { type Finding, good, look } from './finding.js';
import type { Machine } from './machine.js';

/** So many readings wait for a moment while all is well. */
const BEHIND_MAX = 5000;

/** Whether readings reach the mirror's server. Nothing here costs readings: what was not sent waits in the store. */
export function mirror(store: Store, machine: Machine, isLogged: boolean): Finding {
  const row = store.mirror();
  if (row === null || !row.isOn) return good('mirror', 'off: nothing is sent.');
  const target = targetFromJson(row.target);
  const unusable = unusableFile(target, machine);
  if (unusable !== null) return unusable;
  const behind = store.readingsBehind(row.sent.readings);
  const waiting = `${behind} reading${behind === 1 ? '' : 's'} not sent`;
  const since = row.success === null ? 'none was ever' : `the last was at ${formatInstant(row.success)}`;
  const why = row.trouble === null ? '' : ` (${row.trouble.words})`;
  const to = `to ${target.url}, database ${target.database}`;
  if (row.state === 'stopped')
    return look(
      'mirror',
      `${to}: stopped${why}; ${waiting}, ${since}.`,
      'mend that, then run `mirror setup` again',
    );
  if (row.state === 'waiting' && behind > 0)
    return look(
      'mirror',
      `${to}: cannot send${why}; ${waiting}, ${since}.`,
      isLogged
        ? 'it is tried again by itself'
        : 'start `log`, or run `mirror send`, once the server is there',
    );
  if (behind > 0 && (!isLogged || behind > BEHIND_MAX))
    return look(
      'mirror',
      `${to}: ${waiting}, ${since}.`,
      isLogged ? 'look again with `mirror status`' : 'start `log`, or run `mirror send`',
    );
  return good('mirror', `${to}: ${behind === 0 ? 'all is sent' : waiting}, ${since}.`);
}

/** Files that the mirror needs, as this user finds them. */
function unusableFile(target: Target, machine: Machine): Finding | null {
  const { credentialsFile, caFile } = target;
  let cure = 'it must be readable for the user that runs the logger, and for nobody else';
  try {
    if (credentialsFile !== null) readCredentials(credentialsFile, {});
    cure = 'run `mirror setup` again';
    refuseAuthorityWithoutTls(target);
    const text = caFile === null ? null : machine.text(caFile);
    if (caFile !== null && text !== null) authoritiesIn(text, caFile);
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    return look('mirror', error.message, cure);
  }
  if (caFile === null || machine.text(caFile) !== null) return null;
  return look(
    'mirror',
    `its certificate authorities ${caFile} cannot be read.`,
    'put the file there, or run `mirror setup` again',
  );
}
