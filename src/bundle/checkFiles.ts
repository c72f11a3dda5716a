import { createHash } from 'node:crypto';
import { createReadStream, readdirSync, readFileSync, statSync } from 'node:fs';
import { join, relative } from 'node:path';
import { Refusal } from '../units/refusal.js';
import { DESCRIPTOR, type Descriptor, descriptorSchema, FORMAT, MANIFEST } from './descriptor.js';
import type { Written } from './fileOut.js';
import { type Finding, inFile, onLine } from './finding.js';

/** What a bundle's folder holds, and what its manifest says against it. */
export interface FoundFiles {
  readonly files: ReadonlyMap<string, Written>;
  readonly findings: readonly Finding[];
}

/** @throws {Refusal} when it is no folder or has neither manifest nor descriptor */
export async function checkFiles(folder: string): Promise<FoundFiles> {
  const entries = entriesOf(folder);
  if (!entries.some(({ path }) => path === DESCRIPTOR || path === MANIFEST))
    throw new Refusal(
      `${folder} is no bundle: it has neither ${DESCRIPTOR} nor ${MANIFEST}; name the folder that has.`,
    );
  const findings: Finding[] = [];
  const files = new Map<string, Written>();
  for (const { path, isFile, isFolder } of entries) {
    if (isFolder) {
      if (!FOLDERS.has(path)) findings.push(inFile(path, 'is a folder that no bundle has'));
    } else if (isFile) files.set(path, await fileAt(folder, path));
    else findings.push(inFile(path, 'is neither a file nor a folder, and a bundle holds nothing else'));
  }
  return { files, findings: [...findings, ...againstManifest(folder, files)] };
}

const FOLDERS = new Set(['facts', 'reports']);

function entriesOf(folder: string): { path: string; isFile: boolean; isFolder: boolean }[] {
  try {
    if (!statSync(folder).isDirectory())
      throw new Refusal(`${folder} is a file; name the folder of a bundle.`);
    return readdirSync(folder, { recursive: true, withFileTypes: true })
      .map((entry) => ({
        path: relative(folder, join(entry.parentPath, entry.name)).replaceAll('\\', '/'),
        isFile: entry.isFile(),
        isFolder: entry.isDirectory(),
      }))
      .sort((a, b) => (a.path < b.path ? -1 : 1));
  } catch (error) {
    if (error instanceof Refusal) throw error;
    throw new Refusal(
      `${folder} cannot be read (${(error as Error).message}); name the folder of a bundle.`,
      {
        cause: error,
      },
    );
  }
}

async function fileAt(folder: string, path: string): Promise<Written> {
  const hash = createHash('sha256');
  let bytes = 0;
  for await (const chunk of createReadStream(join(folder, path))) {
    hash.update(chunk as Buffer);
    bytes += (chunk as Buffer).length;
  }
  return { path, bytes, hash: hash.digest('hex') };
}

const MANIFEST_LINE = /^([0-9a-f]{64}) [ *](.+)$/;

function againstManifest(folder: string, files: ReadonlyMap<string, Written>): Finding[] {
  if (!files.has(MANIFEST)) return [inFile(MANIFEST, 'is missing, so that changed bytes cannot be found')];
  const findings: Finding[] = [];
  const listed = new Set<string>();
  const lines = readFileSync(join(folder, MANIFEST), 'utf8').split('\n');
  for (const [index, line] of lines.entries()) {
    if (line === '' && index === lines.length - 1) continue;
    const [, hash, path] = MANIFEST_LINE.exec(line) ?? [];
    if (hash === undefined || path === undefined) {
      findings.push(
        onLine(MANIFEST, index + 1, 'is no line of a manifest, a SHA-256, two spaces and a path'),
      );
      continue;
    }
    if (listed.has(path)) findings.push(onLine(MANIFEST, index + 1, `names ${path} a second time`));
    listed.add(path);
    const file = files.get(path);
    if (file === undefined) findings.push(inFile(path, 'is missing, and the manifest names it'));
    else if (file.hash !== hash)
      findings.push(
        inFile(
          path,
          `is not the file that the manifest names: bytes of it were changed (SHA-256 ${file.hash})`,
        ),
      );
  }
  for (const path of files.keys())
    if (path !== MANIFEST && !listed.has(path))
      findings.push(inFile(path, 'is not in the manifest: it was put in later'));
  return findings;
}

/**
 * The descriptor as far as it can be used, and what is wrong with it.
 *
 * @param named files that something was found about already
 * @throws {Refusal} for a later format
 */
export function checkDescriptor(
  folder: string,
  files: ReadonlyMap<string, Written>,
  named: ReadonlySet<string>,
): { readonly descriptor: Descriptor | null; readonly findings: Finding[] } {
  if (!files.has(DESCRIPTOR))
    return { descriptor: null, findings: named.has(DESCRIPTOR) ? [] : [inFile(DESCRIPTOR, 'is missing')] };
  let json: unknown;
  try {
    json = JSON.parse(readFileSync(join(folder, DESCRIPTOR), 'utf8'));
  } catch (error) {
    return { descriptor: null, findings: [inFile(DESCRIPTOR, `is no JSON (${(error as Error).message})`)] };
  }
  const format = (json as { stillwarm?: { format?: unknown } }).stillwarm?.format;
  if (typeof format === 'number' && format > FORMAT)
    throw new Refusal(
      `${folder} was written by a newer stillwarm (bundle format ${format}, this one knows up to ${FORMAT}); update stillwarm.`,
    );
  const parsed = descriptorSchema.safeParse(json);
  if (!parsed.success) {
    const { path, message } = parsed.error.issues[0]!;
    return { descriptor: null, findings: [inFile(DESCRIPTOR, `key ${path.join('.')}: ${message}`)] };
  }
  return {
    descriptor: parsed.data,
    findings: [...aboutFindings(parsed.data), ...resourceFindings(parsed.data, files)].filter(
      ({ file }) => !named.has(file),
    ),
  };
}

/** What a bundle says of itself that cannot be. */
function aboutFindings({
  created,
  stillwarm: { isPublic, hasPeople, madeIn, chains },
}: Descriptor): Finding[] {
  const stores = chains.map(({ store }) => store);
  const isOrdered = stores.every((store, index) => index === 0 || store > stores[index - 1]!);
  const wrong = [
    ...(isOrdered && stores.length > 0
      ? []
      : ['key stillwarm.chains: names each store once, in order of their ids']),
    ...(isPublic && hasPeople ? ['key stillwarm.hasPeople: is never true in a public bundle'] : []),
    ...(isPublic === (madeIn === null) && (isPublic || stores.includes(madeIn!))
      ? []
      : ['key stillwarm.madeIn: is one of its stores, or null in a public bundle']),
    ...(isPublic === (created === undefined) ? [] : ['key created: is there unless the bundle is public']),
  ];
  return wrong.map((what) => inFile(DESCRIPTOR, what));
}

/** Files that belong to every bundle and are no resource of it. */
export const BESIDE: ReadonlySet<string> = new Set([DESCRIPTOR, MANIFEST, 'README.md']);

function resourceFindings(descriptor: Descriptor, files: ReadonlyMap<string, Written>): Finding[] {
  const findings: Finding[] = [];
  const told = new Set<string>();
  for (const { path, bytes, hash } of descriptor.resources) {
    if (told.has(path)) findings.push(inFile(DESCRIPTOR, `tells of ${path} twice`));
    told.add(path);
    const file = files.get(path);
    if (file === undefined) findings.push(inFile(path, `is missing, and ${DESCRIPTOR} tells of it`));
    else if (file.bytes !== bytes)
      findings.push(inFile(path, `has ${file.bytes} bytes, and ${DESCRIPTOR} says ${bytes}`));
    else if (`sha256:${file.hash}` !== hash)
      findings.push(inFile(path, `has another hash than ${DESCRIPTOR} says`));
  }
  for (const path of files.keys())
    if (!told.has(path) && !BESIDE.has(path))
      findings.push(inFile(path, `is no file that ${DESCRIPTOR} tells of`));
  if (!files.has('README.md')) findings.push(inFile('README.md', 'is missing'));
  return findings;
}
