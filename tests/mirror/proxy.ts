import { once } from 'node:events';
import { type AddressInfo, connect, createServer, type Socket } from 'node:net';

/**
 * What the proxy does with the connections through it: passes bytes on; holds them for ever; lets requests through and
 * cuts the connection instead of passing the acknowledgement; answers itself with a text.
 */
export type Way = 'pass' | 'hold' | 'cut-acknowledgement' | { readonly answer: string };

export interface TcpProxy {
  readonly url: string;
  way: Way;
  /** Requests that reached it, whatever became of them. */
  requests(): number;
  close(): Promise<void>;
}

/** A TCP proxy on loopback in front of a server, for faults that the server itself cannot be made to have. */
export async function proxy(server: string): Promise<TcpProxy> {
  const to = Number(new URL(server).port);
  const sockets = new Set<Socket>();
  let way: Way = 'pass';
  let requests = 0;
  const listener = createServer((near) => {
    const far = connect(to, '127.0.0.1');
    for (const socket of [near, far]) {
      sockets.add(socket);
      socket.on('error', () => {});
      socket.on('close', () => {
        sockets.delete(socket);
        near.destroy();
        far.destroy();
      });
    }
    near.on('data', (bytes) => {
      if (bytes.toString('latin1').startsWith('POST ')) requests += 1;
      if (typeof way === 'object') near.write(way.answer);
      else if (way !== 'hold') far.write(bytes);
    });
    far.on('data', (bytes) => {
      if (way === 'cut-acknowledgement') near.destroy();
      else if (way !== 'hold') near.write(bytes);
    });
  }).listen(0, '127.0.0.1');
  await once(listener, 'listening');
  return {
    url: `http://127.0.0.1:${(listener.address() as AddressInfo).port}`,
    get way() {
      return way;
    },
    set way(next) {
      way = next;
    },
    requests: () => requests,
    async close() {
      for (const socket of sockets) socket.destroy();
      listener.close();
      await once(listener, 'close');
    },
  };
}

/** An HTTP answer with a JSON body. */
export const httpAnswer = (status: string, body = '{}'): Way => ({
  answer: `HTTP/1.1 ${status}\r\nContent-Type: application/json\r\nContent-Length: ${Buffer.byteLength(body)}\r\n\r\n${body}`,
});
