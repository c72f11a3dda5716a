import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { CHAIN_ORIGIN, canonicalJson, chainHash } from '../store/chain.js';
import { factFromJson, type RecordedFact } from '../store/facts.js';
import type { Link } from '../store/gathered.js';
import { refuseIrregular } from '../units/regularFile.js';
import type { About } from './descriptor.js';
import { type Finding, inFile, onLine } from './finding.js';

/** A chain as a bundle has it. */
export interface FoundChain {
  readonly store: string;
  readonly links: readonly Link[];
  /** Null when a line of it is no fact. */
  readonly facts: readonly RecordedFact[] | null;
  readonly findings: readonly Finding[];
}

export const factsFile = (store: string): string => `facts/${store}.jsonl`;

/** Follows the chain of one store from its first fact to its head. */
export function readChain(folder: string, told: About['chains'][number]): FoundChain {
  const file = factsFile(told.store);
  const findings: Finding[] = [];
  const links: Link[] = [];
  const facts: RecordedFact[] = [];
  let text: string;
  try {
    refuseIrregular(join(folder, file), 'a bundle holds none');
    text = readFileSync(join(folder, file), 'utf8');
  } catch {
    // That it is missing was said of the file.
    return { store: told.store, links, facts: null, findings };
  }
  let hash = CHAIN_ORIGIN;
  let isBroken = false;
  const lines = text.split('\n');
  if (lines.at(-1) === '') lines.pop();
  else findings.push(onLine(file, lines.length, 'does not end in a line feed'));
  for (const [index, line] of lines.entries()) {
    const link = linkOf(line);
    if (typeof link === 'string') {
      findings.push(onLine(file, index + 1, link));
      continue;
    }
    links.push(link);
    if (link.seq !== index + 1 && !isBroken)
      findings.push(
        onLine(file, index + 1, `has the number ${link.seq}: facts are missing, too many or out of order`),
      );
    hash = chainHash(hash, link.line);
    if (hash !== link.hash && !isBroken) {
      isBroken = true;
      findings.push(
        onLine(
          file,
          index + 1,
          'the chain breaks here: the hash does not follow from the fact and the hash before it',
        ),
      );
    }
    try {
      facts.push(factFromJson(link.line));
    } catch (error) {
      findings.push(
        onLine(
          file,
          index + 1,
          `is no fact that this version knows (${(error as Error).message.slice(0, 200)})`,
        ),
      );
    }
  }
  const first = facts[0]?.fact;
  if (first !== undefined && (first.type !== 'store-created' || first.store !== told.store))
    findings.push(onLine(file, 1, `does not create the store ${told.store}`));
  if (links.length !== told.facts)
    findings.push(inFile(file, `has ${links.length} facts, and datapackage.json says ${told.facts}`));
  else if (links.at(-1)!.hash !== told.head)
    findings.push(inFile(file, 'ends in another head than datapackage.json says'));
  return { store: told.store, links, facts: facts.length === lines.length ? facts : null, findings };
}

/** A line as a link, or what is wrong with it. */
function linkOf(line: string): Link | string {
  let json: unknown;
  try {
    json = JSON.parse(line);
  } catch (error) {
    return `is no JSON (${(error as Error).message})`;
  }
  const { fact, hash } = json as { fact?: { seq?: unknown }; hash?: unknown };
  if (typeof fact !== 'object' || fact === null || typeof fact.seq !== 'number' || typeof hash !== 'string')
    return 'has no fact with its number, or no hash';
  if (canonicalJson(json) !== line) return 'is not canonical JSON (RFC 8785) of a fact and its hash';
  return { seq: fact.seq, line: canonicalJson(fact), hash };
}

/** What one chain says of how far another had come when it was gathered, held against that other. */
export function checkWitnesses(chains: readonly FoundChain[]): Finding[] {
  const byStore = new Map(chains.map((chain) => [chain.store, chain]));
  return chains.flatMap(({ store, facts }) =>
    (facts ?? []).flatMap(({ seq, fact }) => {
      if (fact.type !== 'chain-gathered') return [];
      const other = byStore.get(fact.store);
      const there = other?.links[fact.facts - 1];
      if (other === undefined)
        return [
          inFile(factsFile(fact.store), `is missing, and fact ${seq} of store ${store} tells of that chain`),
        ];
      if (other.links.length === 0 || there?.hash === fact.head) return [];
      return [
        inFile(
          factsFile(fact.store),
          there === undefined
            ? `ends after ${other.links.length} facts, and fact ${seq} of store ${store} saw ${fact.facts}: its tail was cut off`
            : `has another hash at fact ${fact.facts} than fact ${seq} of store ${store} saw: it was written anew`,
        ),
      ];
    }),
  );
}
