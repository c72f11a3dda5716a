import { readFileSync } from 'node:fs';
import { Agent as HttpAgent } from 'node:http';
import { Agent as HttpsAgent } from 'node:https';
import type { Duplex } from 'node:stream';
import { InfluxDB } from 'influx';
import type { Clock } from '../units/clock.js';
import { Refusal } from '../units/refusal.js';
import { refuseIrregular } from '../units/regularFile.js';
import { type DurationMs, seconds } from '../units/time.js';
import { type Answer, answerTo, LATE } from './answer.js';
import { authoritiesIn } from './authorities.js';
import { type Credentials, withoutCredentials } from './credentials.js';
import type { Point } from './points.js';
import { refuseAuthorityWithoutTls, type Target } from './target.js';

/** One connection to a server. After any answer but `taken` it is done for: close it and make another. */
export interface Connection {
  /** Sends a batch and gives what became of it. Never throws, and always comes to an end. */
  write(points: readonly Point[]): Promise<Answer>;
  /** Whether the server has dropped the connection since: it may have restarted and lost what it only held in memory. */
  isLost(): boolean;
  close(): void;
}

/** How long a batch may take, from first byte to acknowledgement. */
const DEADLINE: DurationMs = seconds(20);
/** The client's own time-out; ours always comes first. */
const CLIENT_TIMEOUT_MS = 120_000;
const DEFAULT_PORTS: Readonly<Record<string, number>> = { 'http:': 80, 'https:': 443 };

/** The client would take a host away for a while after a 5xx; when to try again is not its affair. */
const NEVER_AWAY = { getDelay: () => 0, next: () => NEVER_AWAY, reset: () => NEVER_AWAY };

/** @throws {Refusal} when the file of certificate authorities cannot be read, or is for an address that shows no certificate */
export function connect(
  target: Target,
  credentials: Credentials | null,
  clock: Pick<Clock, 'sleep'>,
): Connection {
  const url = new URL(target.url);
  // An earlier version kept such a target.
  refuseAuthorityWithoutTls(target);
  const options = { keepAlive: true, maxSockets: 1, maxFreeSockets: 1 };
  const agent =
    url.protocol === 'https:'
      ? new HttpsAgent({ ...options, ...authorities(target.caFile) })
      : new HttpAgent(options);
  const closed = new AbortController();
  let isLost = false;
  const watched = new WeakSet<Duplex>();
  // A socket is set free after each acknowledged batch; one that the server closes then was not ours to close.
  agent.on('free', (socket: Duplex) => {
    if (watched.has(socket)) return;
    watched.add(socket);
    socket.once('close', () => {
      isLost = true;
    });
  });
  const client = new InfluxDB({
    // Left out, both would become "root".
    username: (credentials?.user ?? null) as string,
    password: (credentials?.password ?? null) as string,
    database: target.database,
    hosts: [
      {
        host: url.hostname,
        port: url.port === '' ? DEFAULT_PORTS[url.protocol]! : Number(url.port),
        protocol: url.protocol === 'https:' ? 'https' : 'http',
        path: url.pathname === '/' ? '' : url.pathname,
        options: { agent },
      },
    ],
    pool: { maxRetries: 0, requestTimeout: CLIENT_TIMEOUT_MS, backoff: NEVER_AWAY },
  });
  const hide = (text: string) => withoutCredentials(text, credentials);

  return {
    async write(points) {
      const answered = new AbortController();
      // The client's promise may never settle: a reply that breaks off in its body is one way.
      const late = clock
        .sleep(DEADLINE, AbortSignal.any([answered.signal, closed.signal]))
        .then((): Answer => LATE);
      const writing = client
        .writePoints(points as Point[], { precision: 'ms' })
        .then((): Answer => ({ is: 'taken' }))
        .catch((error: unknown) => answerTo(error, hide));
      const answer = await Promise.race([writing, late]);
      answered.abort();
      if (answer.is !== 'taken') this.close();
      return answer;
    },
    isLost: () => isLost,
    close() {
      closed.abort();
      agent.destroy();
    },
  };
}

function authorities(file: string | null): { ca?: string } {
  if (file === null) return {};
  refuseIrregular(file, 'name a PEM file', 'With --ca: ');
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (error) {
    throw new Refusal(
      `The certificates in ${file} cannot be read (${(error as NodeJS.ErrnoException).code ?? 'unknown'}); check its path.`,
    );
  }
  return { ca: authoritiesIn(text, file) };
}
