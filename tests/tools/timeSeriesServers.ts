import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { freePort } from './freePort.js';

/** A server of time series on loopback, with its data in a folder of the test's. */
export interface TimeSeriesServer {
  readonly url: string;
  start(): Promise<void>;
  /** Ends it; SIGKILL as a crash would. */
  stop(signal: 'SIGTERM' | 'SIGKILL'): Promise<void>;
}

const READY_WITHIN_MS = 20_000;

function server(
  program: string,
  args: readonly string[],
  port: number,
  readyPath: string,
  env: Record<string, string> = {},
): TimeSeriesServer {
  let child: ChildProcess | null = null;
  const url = `http://127.0.0.1:${port}`;
  return {
    url,
    async start() {
      // However the test ends, the server ends with it.
      child = spawn(program, args, { stdio: 'ignore', env: { PATH: process.env['PATH'] ?? '', ...env } });
      const mine = child;
      process.once('exit', () => mine.kill('SIGKILL'));
      const end = performance.now() + READY_WITHIN_MS;
      while (performance.now() < end) {
        const isReady = await fetch(`${url}${readyPath}`).then(
          ({ ok }) => ok,
          () => false,
        );
        if (isReady) return;
        if (mine.exitCode !== null) break;
        await new Promise((resolve) => setTimeout(resolve, 50));
      }
      throw new Error(`${program} did not become ready (exit code ${mine.exitCode})`);
    },
    async stop(signal) {
      if (child === null || child.exitCode !== null || child.signalCode !== null) return;
      const ended = once(child, 'exit');
      child.kill(signal);
      await ended;
    },
  };
}

export interface Influx extends TimeSeriesServer {
  /** Runs a query; rows of the first series, without their column names. */
  query(text: string, database?: string): Promise<(string | number | null)[][]>;
}

/** InfluxDB 1.x; `auth` asks for user and password, given as USER:PASSWORD for the queries. */
export async function influx(folder: string, options: { readonly auth?: string } = {}): Promise<Influx> {
  const [port, other] = [await freePort(), await freePort()];
  mkdirSync(folder, { recursive: true });
  const config = join(folder, 'influxdb.conf');
  const path = (name: string) => JSON.stringify(join(folder, name));
  writeFileSync(
    config,
    `reporting-disabled = true
bind-address = "127.0.0.1:${other}"
[meta]
  dir = ${path('meta')}
[data]
  dir = ${path('data')}
  wal-dir = ${path('wal')}
  query-log-enabled = false
[http]
  bind-address = "127.0.0.1:${port}"
  auth-enabled = ${options.auth !== undefined}
  log-enabled = false
[monitor]
  store-enabled = false
`,
  );
  const plain = server('influxd', ['run', '-config', config], port, '/ping', { HOME: folder });
  return {
    ...plain,
    async query(text, database = 'bees') {
      const headers: Record<string, string> =
        options.auth === undefined
          ? {}
          : { Authorization: `Basic ${Buffer.from(options.auth).toString('base64')}` };
      const reply = await fetch(`${plain.url}/query?${new URLSearchParams({ db: database, q: text })}`, {
        method: 'POST',
        headers,
      });
      const { results, error } = (await reply.json()) as {
        error?: string;
        results?: { error?: string; series?: { values: (string | number | null)[][] }[] }[];
      };
      const trouble = error ?? results?.[0]?.error;
      if (trouble !== undefined) throw new Error(`${text}: ${trouble}`);
      return results?.[0]?.series?.flatMap(({ values }) => values) ?? [];
    },
  };
}

/** VictoriaMetrics, which keeps one sample of each series a millisecond when it is told to. */
export async function victoriaMetrics(folder: string): Promise<TimeSeriesServer> {
  const port = await freePort();
  const args = [
    `-storageDataPath=${folder}`,
    `-httpListenAddr=127.0.0.1:${port}`,
    '-retentionPeriod=100y',
    '-dedup.minScrapeInterval=1ms',
  ];
  return server('victoria-metrics', args, port, '/health');
}
