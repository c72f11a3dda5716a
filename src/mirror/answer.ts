/** What a server's answer to a batch means for what is sent next. */
export type Answer =
  | { readonly is: 'taken' }
  /** Nothing is wrong with the batch: the same again, later. */
  | { readonly is: 'again'; readonly words: string }
  /** The batch must not be sent again as it is. `left` is how many rows it left out of a batch it took; null when it took none. */
  | { readonly is: 'refused'; readonly words: string; readonly left: number | null }
  /** Nothing will be taken before a person has done something. */
  | { readonly is: 'stop'; readonly words: string };

/** Said by the client when its own deadline has passed. */
export const LATE: Answer = { is: 'again', words: 'the server does not answer in time' };

const WORDS_MAX = 100;

/** Network troubles that end by themselves: a vehicle out of reach, a server that restarts. */
const NETWORK: Readonly<Record<string, string>> = {
  ECONNREFUSED: 'nothing listens at the server’s address',
  ECONNRESET: 'the server closed the connection',
  EPIPE: 'the server closed the connection',
  ETIMEDOUT: 'the server cannot be reached',
  EHOSTUNREACH: 'the server cannot be reached',
  ENETUNREACH: 'there is no network',
  ENOTFOUND: 'the server’s name is not known here',
  EAI_AGAIN: 'no name server answers',
};
const UNTRUSTED = /CERT|SELF_SIGNED|UNABLE_TO|ERR_TLS/;

/** What a server says of a status code, when more must be said than the code. */
const STOPS: Readonly<Record<number, string>> = {
  401: 'the server does not accept the credentials (401); check user and password',
  403: 'the server does not let this user write (403); give it the right to write',
  404: 'the server has no such database or address (404); create the database or correct the address',
};
const AGAIN = new Set([408, 425, 429]);
/** A batch that one of its rows may have spoilt, or that was too large. */
const REFUSED = new Set([400, 413, 422]);

/**
 * Reads a failed write. Of the client's error objects only status, code and the server's own sentence are looked at:
 * they carry the request with its Authorization header, so nothing else of them may go anywhere.
 *
 * @param hide takes out what must not be repeated
 */
export function answerTo(error: unknown, hide: (text: string) => string): Answer {
  const { code, res, message } = error as {
    code?: unknown;
    res?: { statusCode?: unknown };
    message?: unknown;
  };
  const status = res?.statusCode;
  if (typeof status === 'number') return answerToStatus(status, sentenceIn(String(message), hide));
  if (typeof code !== 'string')
    // The client keeps no status of these, only its text.
    return { is: 'again', words: `the server is not available (${short(hide(String(message)))})` };
  if (UNTRUSTED.test(code))
    return {
      is: 'stop',
      words: `the server’s certificate cannot be trusted (${short(code)}); name its authority with --ca`,
    };
  if (code === 'EPROTO')
    return { is: 'stop', words: 'the server does not speak TLS at this address; correct the address' };
  return { is: 'again', words: NETWORK[code] ?? `the connection failed (${short(code)})` };
}

function answerToStatus(status: number, sentence: string): Answer {
  const stop = STOPS[status];
  if (stop !== undefined) return { is: 'stop', words: stop };
  if (status >= 500 || AGAIN.has(status))
    return { is: 'again', words: `the server is not available (${status})` };
  if (!REFUSED.has(status))
    return {
      is: 'stop',
      words:
        status < 400
          ? `the server sends writers elsewhere (${status}); give its own address`
          : `the server does not take writes here (${status}); correct the address`,
    };
  // InfluxDB 1.x: "partial write: field type conflict: ... dropped=3": all rows but three are in.
  const left = /^partial write: .* dropped=(\d+)$/.exec(sentence)?.[1];
  return {
    is: 'refused',
    words: short(sentence === '' ? `refused (${status})` : sentence),
    left: left === undefined ? null : Number(left),
  };
}

/** The sentence in `... error occurred: {"error":"SENTENCE"}`, else the text itself. */
function sentenceIn(message: string, hide: (text: string) => string): string {
  const body = message.slice(message.indexOf(': ') + 2);
  try {
    const { error } = JSON.parse(body) as { error?: unknown };
    if (typeof error === 'string') return hide(error).trim();
  } catch {
    // Not JSON: another kind of server.
  }
  return hide(body).trim();
}

/** What may stand in a fact: one line, not long. */
function short(text: string): string {
  const line = text.replace(/[\p{Cc}\s]+/gu, ' ').trim();
  return line.length <= WORDS_MAX ? line : `${line.slice(0, WORDS_MAX - 1).trimEnd()}…`;
}
