import { SCHEMA_VERSION } from '../../store/schema.js';
import type { Store } from '../../store/store.js';
import { installedVersion } from '../../units/installed.js';
import { type Finding, good, look } from './finding.js';

/** What to name when help is asked for: this program, its parts, the store, and the boards seen last. */
export function versions(store: Store | null): Finding {
  const program = `stillwarm ${installedVersion()} on node ${process.versions.node}`;
  if (store === null) return good('versions', `${program}.`);
  const firmware = new Map<string, string>();
  for (const { fact } of store.facts())
    if (fact.type === 'board-booted') firmware.set(fact.board, fact.firmware);
  const boards = [...firmware].map(([board, version]) => `board ${board} firmware ${version}`);
  const { sqlite, schema } = store.versions();
  const says = `${[program, `SQLite ${sqlite}`, `store version ${schema}`, ...boards].join(', ')}.`;
  return schema < SCHEMA_VERSION
    ? look(
        'versions',
        says,
        `the next command that writes brings the store to version ${SCHEMA_VERSION}, and puts a copy beside it first`,
      )
    : good('versions', says);
}
