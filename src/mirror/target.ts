import { z } from 'zod';
import { Refusal } from '../units/refusal.js';

const NAME = /^[A-Za-z0-9_][A-Za-z0-9_.-]{0,63}$/;
const HOLD_SECONDS_MAX = 3600;

/** A server to send to, and where the credentials for it are; never what they are. */
const targetSchema = z.strictObject({
  url: z.string(),
  database: z.string().regex(NAME),
  /** File that holds USER:PASSWORD in its first line; null when the environment may hold it. */
  credentialsFile: z.string().nullable(),
  /** File of the certificate authorities to trust instead of the usual ones. */
  caFile: z.string().nullable(),
  /** How long after its acknowledgement a row may still be sent again, seconds. */
  holdSeconds: z.number().min(0).max(HOLD_SECONDS_MAX),
});
export type Target = z.infer<typeof targetSchema>;

/** Servers that write to disk only every few seconds have done so by then. */
export const HOLD_SECONDS = 60;

export const targetToJson = (target: Target): string => JSON.stringify(target);
export const targetFromJson = (text: string): Target => targetSchema.parse(JSON.parse(text));

/** Whether two targets are the same place to write to, whatever else is set. */
export const isSamePlace = (one: Target, other: Target): boolean =>
  one.url === other.url && one.database === other.database;

/**
 * A target as a person names it. The address is an http or https URL, to which `/write` is added; plain http
 * leaves this computer only when that is allowed in so many words.
 *
 * @throws {Refusal} when it cannot be used
 */
export function targetOf(options: {
  readonly address: string;
  readonly database: string;
  readonly credentialsFile: string | null;
  readonly caFile: string | null;
  readonly holdSeconds: number;
  readonly allowPlainHttp: boolean;
}): Target {
  const { database, credentialsFile, caFile, holdSeconds } = options;
  const url = addressOf(options.address, options.allowPlainHttp);
  if (!NAME.test(database))
    throw new Refusal(
      `${JSON.stringify(database)} is not a database name that can be used; write up to 64 letters, digits, dots, hyphens or underscores.`,
    );
  if (!(holdSeconds >= 0 && holdSeconds <= HOLD_SECONDS_MAX))
    throw new Refusal(`--hold must be from 0 to ${HOLD_SECONDS_MAX} seconds.`);
  refuseAuthorityWithoutTls({ url, caFile });
  return { url, database, credentialsFile, caFile, holdSeconds };
}

/**
 * Refuses an authority where no certificate is ever shown: whoever named one takes the way to the server for encrypted.
 *
 * @throws {Refusal}
 */
export function refuseAuthorityWithoutTls({ url, caFile }: Pick<Target, 'url' | 'caFile'>): void {
  if (caFile !== null && new URL(url).protocol === 'http:')
    throw new Refusal(
      `--ca ${caFile} has no meaning for ${url}, where nothing is encrypted and no certificate is shown; give mirror setup the server's https address, or no --ca.`,
    );
}

function addressOf(text: string, allowPlainHttp: boolean): string {
  let url: URL;
  try {
    url = new URL(text);
  } catch {
    throw new Refusal('The address of the server is not a URL; write it as https://HOST:PORT.');
  }
  // Never repeat an address that may hold a password.
  if (url.username !== '' || url.password !== '')
    throw new Refusal(
      'The address of the server must not hold a user or password; put USER:PASSWORD into a file and name it with --credentials.',
    );
  if (url.protocol !== 'https:' && url.protocol !== 'http:')
    throw new Refusal(`${text} is not an http or https address; write it as https://HOST:PORT.`);
  if (url.search !== '' || url.hash !== '')
    throw new Refusal(`${text} must not hold ? or #; name the database with --database.`);
  if (url.protocol === 'http:' && !isLoopback(url.hostname) && !allowPlainHttp)
    throw new Refusal(
      `${text} would send readings and credentials in the clear; use https, or --allow-plain-http if nobody else can listen on that network.`,
    );
  return url.href.replace(/\/+$/, '');
}

/** Whether a host name is this computer itself. */
export function isLoopback(host: string): boolean {
  return host === 'localhost' || host === '[::1]' || /^127\.\d{1,3}\.\d{1,3}\.\d{1,3}$/.test(host);
}
