import type { Argument, Command, Option } from 'commander';

/** What may stand where somebody has begun to type. */
export interface Candidate {
  readonly text: string;
  /** In a few words, for shells that show it; empty when there is nothing to say. */
  readonly about: string;
}
/** Words that only the store knows. */
export type Kind = 'visit' | 'cup' | 'slot' | 'carrier' | 'probe';
export type WordsOf = (kind: Kind) => readonly Candidate[];

/** The shell's own completion of file names is to take over. */
export const FILES = 'files';

/** What arguments and options are about, by the names they have in the help. */
const KINDS: Readonly<Record<string, Kind | typeof FILES>> = {
  visit: 'visit',
  cup: 'cup',
  label: 'cup',
  slot: 'slot',
  'carrier:slot': 'slot',
  carrier: 'carrier',
  rom: 'probe',
  'rom|slot': 'probe',
  file: FILES,
  planned: FILES,
  folder: FILES,
  'port[=carrier]': FILES,
  'folder[=carrier]': FILES,
  port: FILES,
};
/** Here a name is given to what does not exist yet. */
const NAMES_ANEW: ReadonlySet<string> = new Set(['visit open', 'cup load', 'cup replace --with']);

/**
 * What may stand in place of the last word. All of it is read off the tree of commands.
 *
 * @param program with the called command defined in full
 * @param words the command line without the program's name; the last word is being typed, and may be empty
 */
export function candidates(
  program: Command,
  words: readonly string[],
  wordsOf: WordsOf,
): readonly Candidate[] | typeof FILES {
  const typed = words.at(-1) ?? '';
  const { command, path, given, open } = walk(program, words.slice(0, -1));
  const starting = (all: readonly Candidate[]) => all.filter(({ text }) => text.startsWith(typed));
  const fromKind = (name: string, place: string) => {
    const kind = NAMES_ANEW.has(place) ? undefined : KINDS[name];
    if (kind === FILES) return FILES;
    return kind === undefined ? [] : starting(wordsOf(kind));
  };
  if (open !== null)
    return open.argChoices
      ? starting(open.argChoices.map(plain))
      : fromKind(valueName(open), `${path} ${open.long}`);
  if (typed.startsWith('-')) return starting(optionsOf(command));
  if (command.commands.length > 0)
    return starting(
      command
        .createHelp()
        .visibleCommands(command)
        .map((each) => ({ text: each.name(), about: each.description() })),
    );
  const argument = argumentAt(command, given);
  if (argument === undefined) return [];
  return argument.argChoices ? starting(argument.argChoices.map(plain)) : fromKind(argument.name(), path);
}

const plain = (text: string): Candidate => ({ text, about: '' });

/** How far the words have come: which command, how many of its arguments, and an option that waits for its value. */
function walk(program: Command, words: readonly string[]) {
  let command = program;
  const path: string[] = [];
  let given = 0;
  let open: Option | null = null;
  for (const word of words) {
    if (open !== null) {
      open = null;
      continue;
    }
    if (word.startsWith('-')) {
      const option = command.options.find(({ long, short }) => word === long || word === short);
      if (option?.required) open = option;
      continue;
    }
    const next = command.commands.find((each) => each.name() === word);
    if (next === undefined) given += 1;
    else {
      command = next;
      path.push(word);
    }
  }
  return { command, path: path.join(' '), given, open };
}

const optionsOf = (command: Command): Candidate[] =>
  command
    .createHelp()
    .visibleOptions(command)
    .map(({ long, description }) => ({ text: long!, about: description }));

/** The word between the angle brackets. */
const valueName = ({ flags }: Option): string => /<([^>]+)>/.exec(flags)?.[1]?.replace(/\.\.\.$/, '') ?? '';

function argumentAt({ registeredArguments }: Command, index: number): Argument | undefined {
  const last = registeredArguments.at(-1);
  return registeredArguments[index] ?? (last?.variadic ? last : undefined);
}
