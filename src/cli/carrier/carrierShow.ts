import type { Command } from 'commander';
import { parseCarrierId } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import { A_NAME, keptWords } from '../../visit/keptWords.js';
import { carrierStates } from '../../visit/probeStates.js';
import { type Context, nowIn, onStore, reading, type StoreOptions, typed } from '../context.js';
import { carrierToJson } from '../probe/probeWords.js';
import { cautionsOf, statesNow } from '../probe.js';
import { carrierPicture, LEGEND } from './carrierPicture.js';

/** `carrier show`: what is known of a carrier and its probes, drawn. */
export function defineShow(carrier: Command, context: Context): void {
  onStore(carrier.command('show [carrier]'))
    .description('a picture of the slots, their probes and how far each is to be trusted')
    .action((name: string | undefined, options: StoreOptions) => show(name, options, context));
}

function show(name: string | undefined, options: StoreOptions, context: Context): void {
  const { io } = context;
  const id = name === undefined ? null : typed(parseCarrierId, 'carrier name', name);
  reading(options.store, (store, season) => {
    const now = nowIn(options.store, context);
    const probes = statesNow(store, season, now);
    const carriers = carrierStates(season, probes, now).filter(
      ({ carrier }) => id === null || carrier === id,
    );
    if (carriers.length === 0)
      throw new Refusal(
        id === null
          ? 'No carrier is known yet; say which board it has with carrier pair.'
          : `There is no carrier ${id}; carrier show without a name shows all.`,
      );
    if (options.json) return io.out(JSON.stringify({ carriers: carriers.map(carrierToJson) }));
    for (const carrier of carriers) {
      for (const line of carrierPicture(carrier, (ref) => keptWords(store, ref, A_NAME))) io.out(line);
      const here = probes.filter(({ place }) => place?.carrier === carrier.carrier);
      for (const line of cautionsOf(here)) io.out(line);
    }
    for (const line of LEGEND) io.out(line);
  });
}
