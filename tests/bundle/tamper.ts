import { createHash } from 'node:crypto';
import { appendFileSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { CHAIN_ORIGIN, canonicalJson, chainHash } from '../../src/store/chain.js';

/** Ways to change a bundle, told by what they do to its folder. */
export type Tampering = (folder: string) => void;

export const edited =
  (file: string, change: (text: string) => string): Tampering =>
  (folder) => {
    const path = join(folder, file);
    const before = readFileSync(path, 'utf8');
    const after = change(before);
    if (after === before) throw new Error(`nothing in ${file} would be changed`);
    writeFileSync(path, after);
  };

/** Changes one cell: on a line counted from 1, in a column by its name. */
export const cell = (table: string, line: number, column: string, value: string): Tampering =>
  edited(`${table}.csv`, (text) => {
    const lines = text.split('\r\n');
    const index = lines[0]!.split(',').indexOf(column);
    const cells = lines[line - 1]!.match(/("(?:[^"]|"")*"|[^,]*)(?:,|$)/g)!.map((each) =>
      each.replace(/,$/, ''),
    );
    cells[index] = value;
    lines[line - 1] = cells.slice(0, lines[0]!.split(',').length).join(',');
    return lines.join('\r\n');
  });

/** Changes the lines of a table, its header the first. */
export const lines = (table: string, change: (all: string[]) => string[]): Tampering =>
  edited(`${table}.csv`, (text) => change(text.split('\r\n')).join('\r\n'));

export const removed =
  (file: string): Tampering =>
  (folder) =>
    rmSync(join(folder, file));
export const added =
  (file: string, text: string): Tampering =>
  (folder) =>
    writeFileSync(join(folder, file), text);
export const renamed =
  (from: string, to: string): Tampering =>
  (folder) =>
    renameSync(join(folder, from), join(folder, to));
export const appended =
  (file: string, text: string): Tampering =>
  (folder) =>
    appendFileSync(join(folder, file), text);

export const chainOf = (folder: string): string => join('facts', readdirSync(join(folder, 'facts'))[0]!);

/** Changes the lines of the chain. */
export const facts =
  (change: (all: string[]) => string[]): Tampering =>
  (folder) =>
    edited(chainOf(folder), (text) => `${change(text.trimEnd().split('\n')).join('\n')}\n`)(folder);

/** Changes one fact, the first that the test finds. */
export const fact = (isIt: RegExp, from: string | RegExp, to: string): Tampering =>
  facts((all) => {
    const index = all.findIndex((line) => isIt.test(line));
    return all.with(index, all[index]!.replace(from, to));
  });

/** Makes every hash of the chain anew, so that it does not break. */
export const chainAnew: Tampering = (folder) => {
  let hash = CHAIN_ORIGIN;
  const path = join(folder, chainOf(folder));
  const links = readFileSync(path, 'utf8')
    .trimEnd()
    .split('\n')
    .map((line, index) => {
      const { fact } = JSON.parse(line) as { fact: object };
      const told = { ...fact, seq: index + 1 };
      hash = chainHash(hash, canonicalJson(told));
      return canonicalJson({ fact: told, hash });
    });
  writeFileSync(path, `${links.join('\n')}\n`);
};

export const all =
  (...tamperings: Tampering[]): Tampering =>
  (folder) => {
    for (const each of tamperings) each(folder);
  };

/** The descriptor as far as tests change it. */
export interface ToldOf {
  created?: string;
  resources: {
    name: string;
    path: string;
    schema?: { fields: { name: string; constraints?: object }[]; missingValues: string[] };
  }[];
  stillwarm: {
    writtenBy: string;
    isPublic: boolean;
    madeIn: string | null;
    chains: { store: string }[];
    visits: string[];
  };
  [key: string]: unknown;
}

/** Changes the descriptor. */
export const descriptor =
  (change: (json: ToldOf) => void): Tampering =>
  (folder) => {
    const path = join(folder, 'datapackage.json');
    const json = JSON.parse(readFileSync(path, 'utf8')) as ToldOf;
    change(json);
    writeFileSync(path, `${JSON.stringify(json, null, 2)}\n`);
  };

const filesIn = (folder: string): string[] =>
  readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => join(entry.parentPath, entry.name).slice(folder.length + 1))
    .sort();

const BESIDE = new Set(['datapackage.json', 'SHA256SUMS', 'README.md']);

/** Makes descriptor and manifest fit what is there now, as somebody who knows the format would. */
export const manifestAnew: Tampering = (folder) => {
  const sum = (path: string) =>
    createHash('sha256')
      .update(readFileSync(join(folder, path)))
      .digest('hex');
  const path = join(folder, 'datapackage.json');
  const descriptor = JSON.parse(readFileSync(path, 'utf8'));
  const there = new Set(filesIn(folder));
  const told = new Set(descriptor.resources.map((resource: { path: string }) => resource.path));
  const more = [...there].filter((file) => !BESIDE.has(file) && !told.has(file));
  descriptor.resources = [
    ...descriptor.resources.filter((resource: { path: string }) => there.has(resource.path)),
    ...more.map((file) => ({ name: file.replaceAll('/', '-'), path: file })),
  ];
  for (const resource of descriptor.resources) {
    resource.bytes = readFileSync(join(folder, resource.path)).length;
    resource.hash = `sha256:${sum(resource.path)}`;
  }
  for (const chain of descriptor.stillwarm.isPublic ? [] : descriptor.stillwarm.chains) {
    const links = readFileSync(join(folder, 'facts', `${chain.store}.jsonl`), 'utf8')
      .trimEnd()
      .split('\n');
    chain.facts = links.length;
    chain.head = JSON.parse(links.at(-1)!).hash;
  }
  writeFileSync(path, `${JSON.stringify(descriptor, null, 2)}\n`);
  writeFileSync(
    join(folder, 'SHA256SUMS'),
    filesIn(folder)
      .filter((file) => file !== 'SHA256SUMS')
      .map((file) => `${sum(file)}  ${file}\n`)
      .join(''),
  );
};
