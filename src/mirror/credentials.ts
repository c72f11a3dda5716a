import { readFileSync, statSync } from 'node:fs';
import { Refusal } from '../units/refusal.js';
import { refuseIrregular } from '../units/regularFile.js';

/** What the server knows this vehicle by. Lives in memory only. */
export interface Credentials {
  readonly user: string;
  readonly password: string;
}

/** Where credentials are looked for when no file is named. */
export const CREDENTIALS_VARIABLE = 'STILLWARM_MIRROR_CREDENTIALS';

const OTHERS_MAY_READ = 0o077;

/**
 * Reads USER:PASSWORD from the first line of a file that only its owner may read, or from the environment; null when
 * neither is given.
 *
 * @throws {Refusal} when they cannot be used; never with what was read
 */
export function readCredentials(
  file: string | null,
  environment: Readonly<Record<string, string | undefined>>,
): Credentials | null {
  if (file === null) {
    const text = environment[CREDENTIALS_VARIABLE];
    return text === undefined ? null : parsed(text, `The variable ${CREDENTIALS_VARIABLE}`);
  }
  refuseIrregular(file, 'put them into one', 'The credentials file ');
  let text: string;
  try {
    if (process.platform !== 'win32' && (statSync(file).mode & OTHERS_MAY_READ) !== 0)
      throw new Refusal(
        `Others may read the credentials in ${file}; take that from them with chmod 600 ${file}.`,
      );
    text = readFileSync(file, 'utf8');
  } catch (error) {
    if (error instanceof Refusal) throw error;
    throw new Refusal(
      `The credentials file ${file} cannot be read (${(error as NodeJS.ErrnoException).code ?? 'unknown'}); check its path and permissions.`,
    );
  }
  return parsed(text.split(/\r?\n/)[0]!, `The first line of ${file}`);
}

function parsed(text: string, where: string): Credentials {
  const colon = text.indexOf(':');
  // A user name cannot hold a colon, nor can a header hold control characters.
  if (colon < 1 || /\p{Cc}/u.test(text)) throw new Refusal(`${where} is not USER:PASSWORD; correct it.`);
  return { user: text.slice(0, colon), password: text.slice(colon + 1) };
}

/** A text from elsewhere without the credentials, should it repeat them. */
export function withoutCredentials(text: string, credentials: Credentials | null): string {
  if (credentials === null) return text;
  const { user, password } = credentials;
  const basic = Buffer.from(`${user}:${password}`).toString('base64');
  return [basic, encodeURIComponent(password), password]
    .filter((secret) => secret !== '')
    .reduce((rest, secret) => rest.replaceAll(secret, '(hidden)'), text);
}
