/**
 * Writes what is not synced, and then what is, in three transactions with equal values between them, and says on stdout after each
 * whether the first is durable. Run under strace by ../failedSync.test.ts, which lets one sync fail.
 * Arguments: the folder of the built program, the file.
 */
import { writeSync } from 'node:fs';
import { pathToFileURL } from 'node:url';

const [build, path] = process.argv.slice(2);
const { openSqlite } = await import(pathToFileURL(`${build}/src/store/sqlite.js`).href);

const sqlite = openSqlite(path, 'write');
sqlite.exec('CREATE TABLE t (a, b)');
sqlite.immediate(() => sqlite.run('INSERT INTO t VALUES (?, ?)', 'page', 0));
sqlite.settle();
sqlite.unsynced(() => sqlite.run('INSERT INTO t VALUES (?, ?)', 'page', 1));
const { made } = sqlite.commits();
writeSync(1, 'written\n');
// The first writes what is there already.
for (const value of [0, 2, 3]) {
  let failure = '';
  try {
    sqlite.immediate(() => sqlite.run('UPDATE t SET b = ? WHERE a = ? AND b <> 1', value, 'page'));
  } catch (error) {
    failure = error.why;
  }
  writeSync(1, `${failure || 'committed'} ${sqlite.commits().durable >= made ? 'durable' : 'waiting'}\n`);
}
