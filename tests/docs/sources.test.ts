import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type SourceLine, sourceLines } from '../../src/cli/logging/sources.js';
import { type AnalogProbe, analogUncertainty } from '../../src/exposure/analogProbe.js';
import { steinhartHartThrough } from '../../src/exposure/thermistor.js';
import { expandedUncertainty, U_PLACEMENT_UNMAPPED } from '../../src/exposure/uncertainty.js';
import { celsius } from '../../src/units/temperature.js';

const PAGE = readFileSync('docs/sources.md', 'utf8');

/** What a file of sources with this text comes to. */
function read(text: string): SourceLine[] {
  const folder = mkdtempSync(join(tmpdir(), 'stillwarm-page-'));
  try {
    const sources = join(folder, 'sources.json');
    writeFileSync(sources, text);
    return sourceLines({ sources });
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** The 10 kOhm part of the page's example: published R-T table, hwmon driver ntc_thermistor of the Linux kernel. */
const curve = steinhartHartThrough([
  { ohm: 27_326, celsius: celsius(0) },
  { ohm: 10_000, celsius: celsius(25) },
  { ohm: 4158, celsius: celsius(50) },
]);
const thermistor = (thermistorPercent: number, seriesPercent: number): AnalogProbe => ({
  part: 'thermistor',
  curve,
  seriesOhm: 10_000,
  side: 'ground',
  thermistorPercent,
  seriesPercent,
});
const volts = (part: 'TMP36' | 'LM35', referenceVolts: number, referencePercent: number): AnalogProbe => ({
  part,
  referenceVolts,
  referencePercent,
});

describe('docs/sources.md', () => {
  it('shows lines that are understood', () => {
    const rows = [...PAGE.matchAll(/`(\{"kind".*?\})`/g)].map(([, line]) => line!);
    expect(rows.map((line) => read(`{"sources":[${line}]}`)[0]!.kind)).toEqual([
      'board',
      'one-wire',
      'stock',
    ]);
    const [whole] = [...PAGE.matchAll(/```json\n([^`]*)```/g)].map(([, text]) => read(text!));
    const [line] = whole as Extract<SourceLine, { kind: 'stock' }>[];
    expect(line!.analog.map(({ part }) => part)).toEqual(['thermistor', 'TMP36', 'LM35']);
  });

  it.each([
    ['thermistor, 1 % with a 0.1 % resistor, 10 bit', thermistor(1, 0.1), 2],
    ['thermistor, 1 % with a 1 % resistor, 10 bit', thermistor(1, 1), 2],
    ['thermistor, 5 % with a 1 % resistor, 10 bit', thermistor(5, 1), 1],
    ['LM35, 10 bit, reference 1.1 V measured to 0.5 %', volts('LM35', 1.1, 0.5), 1],
    ['LM35, 10 bit, 5 V of USB', volts('LM35', 5, 5), 1],
    ['TMP36, 10 bit, 5 V measured to 0.5 %', volts('TMP36', 5, 0.5), 1],
    ['TMP36, 10 bit, 5 V of USB', volts('TMP36', 5, 5), 1],
  ])('gives the U that is reckoned with: %s', (words, probe, digits) => {
    const u = expandedUncertainty(analogUncertainty(probe, 10), U_PLACEMENT_UNMAPPED);
    expect(PAGE).toContain(`| ${words} | ${u.toFixed(digits)} °C |`);
  });
});
