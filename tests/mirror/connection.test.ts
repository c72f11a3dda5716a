import { once } from 'node:events';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type Connection, connect } from '../../src/mirror/connection.js';
import { targetOf } from '../../src/mirror/target.js';
import { quickClock } from './rig.js';

const POINT = { measurement: 'm', tags: { a: 'b' }, fields: { x: 1 }, timestamp: 1_778_587_200_123 };

let server: Server;
let url: string;
let heard: IncomingMessage[];
let reply: (response: ServerResponse) => void;
let connection: Connection;
beforeEach(async () => {
  heard = [];
  reply = (response) => response.writeHead(204).end();
  server = createServer((request, response) => {
    heard.push(request);
    request.resume().on('end', () => reply(response));
  }).listen(0, '127.0.0.1');
  await once(server, 'listening');
  url = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
});
afterEach(() => {
  connection.close();
  server.closeAllConnections();
  server.close();
});
const to = (path: string, credentials: Parameters<typeof connect>[1] = null) => {
  const target = targetOf({
    address: `${url}${path}`,
    database: 'bees',
    credentialsFile: null,
    caFile: null,
    holdSeconds: 0,
    allowPlainHttp: false,
  });
  connection = connect(target, credentials, quickClock);
  return connection;
};

describe('connect()', () => {
  it('keeps the path of the address, as a clustered server needs, and says what a timestamp means', async () => {
    expect(await to('/insert/0/influx/').write([POINT])).toEqual({ is: 'taken' });
    const asked = new URL(heard[0]!.url!, url);
    expect(asked.pathname).toBe('/insert/0/influx/write');
    expect(asked.searchParams.get('db')).toBe('bees');
    expect(asked.searchParams.get('precision')).toBe('ms');
  });

  it('sends no credentials when there are none', async () => {
    await to('').write([POINT]);
    expect(heard[0]!.headers.authorization).toBeUndefined();
    connection.close();
    await to('', { user: 'bee', password: 'a:b' }).write([POINT]);
    expect(heard[1]!.headers.authorization).toBe(`Basic ${Buffer.from('bee:a:b').toString('base64')}`);
  });

  it('does not follow a server that sends it elsewhere', async () => {
    reply = (response) => response.writeHead(307, { Location: `${url}/elsewhere` }).end();
    expect(await to('', { user: 'bee', password: 'x' }).write([POINT])).toEqual({
      is: 'stop',
      words: 'the server sends writers elsewhere (307); give its own address',
    });
    expect(heard).toHaveLength(1);
  });

  it('knows that the server has dropped an idle connection', async () => {
    await to('').write([POINT]);
    expect(connection.isLost()).toBe(false);
    server.closeAllConnections();
    await new Promise((resolve) => setTimeout(resolve, 50));
    expect(connection.isLost()).toBe(true);
  });

  it('takes a server that ends the connection politely for no loss', async () => {
    reply = (response) => response.writeHead(204, { Connection: 'close' }).end();
    await to('').write([POINT]);
    await new Promise((resolve) => setTimeout(resolve, 50));
    expect(connection.isLost()).toBe(false);
    expect(await connection.write([POINT])).toEqual({ is: 'taken' });
  });
});
