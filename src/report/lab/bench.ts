import type { CarrierId, RomId } from '../../units/ids.js';
import { utcMs } from '../../units/time.js';
import { iceCautions, inForce, uncertaintyOf } from '../../visit/commissioned.js';
import { lagInWords } from '../../visit/prewarming.js';
import { probeIn } from '../../visit/slots.js';
import { type Html, html } from '../html.js';
import { table } from '../table.js';
import type { Material } from './material.js';
import { DASH, figure } from './tell.js';

interface Probe {
  readonly carrier: CarrierId;
  readonly slot: number;
  readonly rom: RomId;
}

/** What was known of each probe when the first cup was loaded: offset, uncertainty, lag. */
export function bench({ season, cups, result, when, names }: Material): Html | null {
  if (cups.length === 0) return null;
  const first = utcMs(Math.min(...cups.map(({ cup }) => cup.load)));
  const places = new Map(
    cups.flatMap(({ cup }) => cup.places.map((place) => [`${place.carrier}:${place.slot}`, place])),
  );
  const probes = [...places.values()].flatMap(({ carrier, slot }): Probe[] => {
    const rom = probeIn(season.carriers.get(carrier), slot, first);
    return rom === null ? [] : [{ carrier, slot, rom }];
  });
  const known = season.commissioned;
  const boardOf = (carrier: CarrierId) => season.carriers.get(carrier)?.board ?? null;
  if (probes.length === 0)
    return html`<h2>Calibration and lag</h2>
<p>None: no cup was seated in a slot whose probe is known.</p>`;
  return html`<h2>Calibration and lag</h2>
<p>As known at the first load. U (k = 2) is what a ruling allows for; a reading is corrected by its offset, never for its lag: carriers are pre-warmed.</p>
${table<Probe>(
  'Probes',
  [
    { head: 'slot', cell: names.slot },
    { head: 'probe', cell: ({ rom }) => html`<code class="short">${rom}</code>` },
    {
      head: 'offset °C',
      isNumber: true,
      cell: ({ rom }) => figure(inForce(known.ice.get(rom), first)?.offset, 3),
    },
    { head: 'ice check', cell: ({ rom }) => day(inForce(known.ice.get(rom), first)?.at, when) },
    { head: 'map', cell: ({ carrier }) => day(inForce(known.maps.get(carrier), first)?.at, when) },
    {
      head: 'U °C',
      isNumber: true,
      cell: ({ carrier, rom }) => figure(uncertaintyOf(known, carrier, rom, first), 3),
    },
    { head: 'lag s', isNumber: true, cell: ({ rom }) => lag(inForce(known.lags.get(rom), first)) },
    {
      head: 'caution',
      cell: ({ carrier, rom }) => iceCautions(known, rom, boardOf(carrier), first).join('; ') || DASH,
    },
  ],
  probes,
)}
${result.probes.map((each) => html`<p>${lagInWords(each)}</p>\n`)}`;
}

const day = (at: Parameters<Material['when']>[0] | undefined, when: Material['when']): string =>
  at === undefined ? 'none' : when(at).slice(0, 10);

const lag = (measured: { tauSeconds: number; lowSeconds: number; highSeconds: number } | null): string =>
  measured === null
    ? DASH
    : `${measured.tauSeconds.toFixed(0)} (${measured.lowSeconds.toFixed(0)} – ${measured.highSeconds.toFixed(0)})`;
