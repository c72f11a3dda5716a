import { describe, expect, it } from 'vitest';
import { clockText, temperatureText, timeLeftText, timeText, zoneOf } from '../../src/screen/view.js';
import { celsius } from '../../src/units/temperature.js';
import { EMPTY_SEASON, foldSeason } from '../../src/visit/season.js';
import { SEVEN, visit, visitOpened } from './invented.js';

describe('temperatureText()', () => {
  // Expected by hand: F = 9/5 C + 32.
  it.each([
    [21.4375, 'C', '21.4°C'],
    [-0.0625, 'C', '-0.1°C'],
    [-0.03, 'C', '0.0°C'],
    [0, 'F', '32.0°F'],
    [15.5625, 'F', '60.0°F'],
    [-20, 'C', '-20.0°C'],
    [60, 'F', '140.0°F'],
  ] as const)('writes %d °C in %s as %s', (degrees, unit, expected) => {
    expect(temperatureText(celsius(degrees), unit)).toBe(expected);
  });
});

describe('timeLeftText()', () => {
  it.each([
    [180, '180 min'],
    [179.5, '180 min'],
    [59.99, '60 min'],
    [0.01, '1 min'],
    [0, 'due now'],
    [-0.99, 'due now'],
    [-1, 'late 1 min'],
    [-61.9, 'late 61 min'],
    [-599.9, 'late 599 min'],
    [-600, 'late 10 h'],
  ])('writes %d min as %s', (minutes, expected) => expect(timeLeftText(minutes)).toBe(expected));
});

describe('timeText()', () => {
  it.each([
    ['Europe/Berlin', '07:00'],
    ['America/New_York', '01:00'],
    ['Nowhere/At_All', '05:00'],
  ])('tells hours and minutes in %s', (zone, expected) => expect(timeText(SEVEN, zone)).toBe(expected));
});

describe('clockText()', () => {
  it.each([
    ['Europe/Berlin', '07:00:00 CEST'],
    ['America/New_York', '01:00:00 EDT'],
    ['Australia/Sydney', '15:00:00 AEST'],
    ['Asia/Kolkata', '10:30:00 GMT+5:30'],
    ['UTC', '05:00:00 UTC'],
    ['Nowhere/At_All', '05:00:00 UTC'],
  ])('writes 05:00 UTC in %s as %s', (zone, expected) => expect(clockText(SEVEN, zone)).toBe(expected));
});

describe('zoneOf()', () => {
  const recorded = (...facts: Parameters<typeof visitOpened>[0][]) =>
    facts.map((zone, i) => ({ seq: i, recorded: SEVEN, fact: visitOpened(zone) }));
  const closed = {
    seq: 9,
    recorded: SEVEN,
    fact: { type: 'visit-closed' as const, visit, at: SEVEN },
  };

  it('is that of the first open visit', () => {
    expect(zoneOf(foldSeason(recorded('Europe/Paris')), 'Etc/GMT+5')).toBe('Europe/Paris');
  });

  it('is UTC when no visit is open', () => {
    expect(zoneOf(EMPTY_SEASON, 'Etc/GMT+5')).toBe('Etc/GMT+5');
    expect(zoneOf(foldSeason([...recorded('Europe/Paris'), closed]), 'Etc/GMT+5')).toBe('Etc/GMT+5');
  });
});
