import { type Netlist, netOf, type Part } from './netlist.js';

/** Which way current gets through a part: from the first pin to the second, or both ways. */
function paths(part: Part): [from: string, to: string][] {
  const way = (from: string, to: string): [string, string] => [`${part.ref}.${from}`, `${part.ref}.${to}`];
  switch (part.kind) {
    case 'fuse':
    case 'resettable-fuse':
      return [way('in', 'out'), way('out', 'in')];
    case 'resistor':
    case 'button':
      return [way('1', '2'), way('2', '1')];
    case 'diode':
    case 'led':
      return [way('A', 'K')];
    case 'adapter':
      return [way('12V', '5V')];
    default:
      return [];
  }
}

/**
 * The nets that direct current can reach from the net of `end`, diodes only forwards, parts of which
 * `isBlocked` says so not at all. Ground is where current ends: nothing is reached through it.
 */
export function reachable(
  netlist: Netlist,
  end: string,
  isBlocked: (part: Part) => boolean = () => false,
): ReadonlySet<string> {
  const steps = netlist.parts
    .filter((part) => !isBlocked(part))
    .flatMap(paths)
    .map(([from, to]) => [netOf(netlist, from)?.name, netOf(netlist, to)?.name] as const);
  const seen = new Set<string>();
  const next = [netOf(netlist, end)?.name];
  for (let net = next.pop(); net !== undefined; net = next.pop()) {
    if (seen.has(net)) continue;
    seen.add(net);
    if (net === 'GND') continue;
    for (const [from, to] of steps) if (from === net && to !== undefined) next.push(to);
  }
  return seen;
}
