import { readdirSync, realpathSync } from 'node:fs';
import * as path from 'node:path';

/** What programs that keep folders equal on several computers leave in them: names, and what a folder of such a name holds. */
const MARKS: readonly { readonly name: RegExp; readonly holds?: string }[] = [
  { name: /^\.stfolder$/ },
  { name: /^\.sync$/, holds: 'ID' },
  { name: /^\._?sync_[0-9a-f]{12}\.db$/ },
  { name: /^\.dropbox\.cache$/ },
  { name: /^\.tmp\.drive(up|down)load$/ },
];
/** Where macOS keeps them, under a home folder. */
const OF_MAC = /^.*?\/Library\/(Mobile Documents|CloudStorage)(?=\/)/;
/** Variables in which Windows tells where they are. */
const OF_WINDOWS = ['OneDrive', 'OneDriveConsumer', 'OneDriveCommercial'];

/** What is asked of a computer. */
export interface Place {
  readonly platform: string;
  readonly env: Readonly<Record<string, string | undefined>>;
  /** The names in a folder; none when it cannot be read. */
  readonly names: (folder: string) => readonly string[];
  /** Where a file or folder lies, links followed; as it is when it is not there. */
  readonly real: (path: string) => string;
}

const HERE: Place = {
  platform: process.platform,
  env: process.env,
  names(folder) {
    try {
      return readdirSync(folder);
    } catch {
      return [];
    }
  },
  real(named) {
    try {
      return realpathSync(named);
    } catch {
      return named;
    }
  },
};

/** The folder around a file that a program keeps equal on several computers; null when none is known to be. */
export function keptEqualFolder(file: string, place: Place = HERE): string | null {
  const { basename, dirname, join, relative, isAbsolute, resolve } =
    place.platform === 'win32' ? path.win32 : path.posix;
  const { platform, env, names, real } = place;
  const at = real(join(real(dirname(resolve(file))), basename(file)));
  if (platform === 'darwin') {
    const found = OF_MAC.exec(at);
    if (found) return found[0];
  }
  if (platform === 'win32')
    for (const name of OF_WINDOWS) {
      const root = env[name];
      if (!root) continue;
      const way = relative(root, at);
      if (!way.startsWith('..') && !isAbsolute(way)) return root;
    }
  for (let folder = dirname(at); ; folder = dirname(folder)) {
    const there = names(folder);
    const isMarked = MARKS.some(({ name, holds }) =>
      there.some(
        (each) => name.test(each) && (holds === undefined || names(join(folder, each)).includes(holds)),
      ),
    );
    if (isMarked) return folder;
    if (dirname(folder) === folder) return null;
  }
}
