import { describe, expect, it } from 'vitest';
import { CHAIN_ORIGIN, canonicalJson, chainHash, firstBreak } from '../../src/store/chain.js';

describe('chainHash()', () => {
  // Vectors: SHA-256 over previous hex, LF, line; computed with sha256sum 9.1 (coreutils), as in
  // `printf '%s\n%s' PREVIOUS LINE | sha256sum`.
  const lines = [
    [
      '{"seq":1,"t":"2026-05-01T12:00:00Z","cup":1,"c":21.5}',
      '44ba25bd333b2f7657c161403c0a5057c50ab699838f7ab073d9c815e8eaf802',
    ],
    [
      '{"seq":2,"t":"2026-05-01T12:00:30Z","cup":1,"c":21.4375}',
      '447b05576d663b4aeb38c00a210cfd63898be430b5f4b31c9feb10bfb0059643',
    ],
    [
      '{"seq":3,"t":"2026-05-01T12:01:00Z","cup":1,"c":21.375}',
      'e8fa0ef9068e5ba4003c39db584d9599dcc0c291dff80b00e1fa34055b4fb03e',
    ],
  ] as const;

  it('chains each line to the one before', () => {
    let previous = CHAIN_ORIGIN;
    for (const [line, hash] of lines) {
      previous = chainHash(previous, line);
      expect(previous).toBe(hash);
    }
  });

  it('finds two lines that changed places', () => {
    const rows = lines.map(([line, hash], index) => ({ seq: index + 1, line, hash }));
    expect(firstBreak(rows)).toBeNull();
    const [a, b, c] = rows as [(typeof rows)[0], (typeof rows)[0], (typeof rows)[0]];
    expect(firstBreak([a, { ...c, seq: 2 }, { ...b, seq: 3 }])).toBe(2);
  });
});

describe('canonicalJson()', () => {
  it('sorts keys and writes numbers in their shortest form', () => {
    // RFC 8785 section 3.2.2: number and key forms
    expect(canonicalJson({ b: 1e30, a: [4.5, 2e-3, 0.000001] })).toBe('{"a":[4.5,0.002,0.000001],"b":1e+30}');
  });
});
