import type { Command } from 'commander';
import type { BoardSession } from '../../carrier/boardSession.js';
import { Refusal } from '../../units/refusal.js';
import { seconds } from '../../units/time.js';
import { inZone, localZone } from '../../units/zone.js';
import type { Context } from '../context.js';
import { type BoardOptions, onEither, PORT, whole } from './boardTalk.js';
import { withEmulate } from './emulatedCarrier.js';

/** The command `carrier settings`. */
export function defineSettings(carrier: Command, context: Context): void {
  withEmulate(carrier.command('settings').option(...PORT))
    .description('read what a board is set to, or set its scan periods (10 to 25 s)')
    .option('--with-host <seconds>', 'scan period while a host listens')
    .option('--alone <seconds>', 'scan period alone')
    .option('--json', 'print JSON')
    .action((options: SettingsOptions) => settings(options, context));
}

interface SettingsOptions extends BoardOptions {
  readonly withHost?: string;
  readonly alone?: string;
  readonly json?: true;
}

async function settings(options: SettingsOptions, context: Context): Promise<void> {
  const wanted = {
    withHost: options.withHost === undefined ? null : whole('with-host', options.withHost, 10, 25),
    alone: options.alone === undefined ? null : whole('alone', options.alone, 10, 25),
  };
  const { heard } = await onEither(options, context, '', async (session) => {
    const before = await readBack(session);
    if (wanted.withHost === null && wanted.alone === null) return;
    const { result } = await session.ask({
      name: 'period',
      withHostSeconds: wanted.withHost ?? before,
      aloneSeconds:
        wanted.alone ?? session.heard.findLast((event) => event.kind === 'settings')!.periodAloneSeconds,
    });
    if (result !== 'done')
      throw new Refusal(`The board did not take the periods (${result}); nothing was changed.`);
    await readBack(session);
  });
  const said = heard.findLast((event) => event.kind === 'settings');
  if (said?.kind !== 'settings') throw new Refusal(`The board did not say its settings; try again.`);
  const slots = heard
    .slice(heard.lastIndexOf(said))
    .flatMap((event) => (event.kind === 'slot-setting' ? [event] : []));
  const { periodWithHostSeconds, periodAloneSeconds } = said;
  if (options.json)
    return context.io.out(
      JSON.stringify({
        periodWithHostSeconds,
        periodAloneSeconds,
        slots: slots.map(({ slot, rom, cold, hot, due }) => ({ slot, rom, cold, hot, due })),
      }),
    );
  context.io.out(`scans every ${periodWithHostSeconds} s with a host, every ${periodAloneSeconds} s alone`);
  const limit = (sixteenths: number | null) => (sixteenths === null ? 'none' : `${sixteenths / 16} °C`);
  for (const { slot, rom, cold, hot, due } of slots)
    context.io.out(
      `slot ${slot}: ${rom}, cold below ${limit(cold)}, hot above ${limit(hot)}, ${due === null ? 'not due' : `due ${inZone(due, localZone())}`}`,
    );
}

/** Asks for the settings and gives the period with a host. */
async function readBack(session: BoardSession): Promise<number> {
  const { result } = await session.ask({ name: 'settings' });
  if (result !== 'done')
    throw new Refusal(`The board does not tell its settings (${result}); write a newer firmware.`);
  await session.listen(seconds(0.5));
  return (await session.until('settings', seconds(3)))?.periodWithHostSeconds ?? 10;
}
