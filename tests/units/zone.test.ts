import { describe, expect, it } from 'vitest';
import { utcMs } from '../../src/units/time.js';
import { inZone, knownZone } from '../../src/units/zone.js';

const told = (text: string, zone: string) => inZone(utcMs(Date.parse(text)), zone);

describe('inZone()', () => {
  it.each([
    // Directive 2000/84/EC: from the last Sunday of March to the last of October, changed at 01:00 UTC.
    ['2026-03-29T00:59:59Z', 'Europe/Berlin', '2026-03-29T01:59:59+01:00'],
    ['2026-03-29T01:00:00Z', 'Europe/Berlin', '2026-03-29T03:00:00+02:00'],
    ['2026-07-01T12:00:00Z', 'Europe/Berlin', '2026-07-01T14:00:00+02:00'],
    ['2026-10-25T00:59:59Z', 'Europe/Berlin', '2026-10-25T02:59:59+02:00'],
    ['2026-10-25T01:00:00Z', 'Europe/Berlin', '2026-10-25T02:00:00+01:00'],
    ['2026-12-01T12:00:00Z', 'Europe/Berlin', '2026-12-01T13:00:00+01:00'],
    // 15 U.S.C. 260a: from the second Sunday of March to the first of November, at 2 a.m. local time.
    ['2026-03-08T06:59:59Z', 'America/New_York', '2026-03-08T01:59:59-05:00'],
    ['2026-03-08T07:00:00Z', 'America/New_York', '2026-03-08T03:00:00-04:00'],
    ['2026-11-01T05:59:59Z', 'America/New_York', '2026-11-01T01:59:59-04:00'],
    ['2026-11-01T06:00:00Z', 'America/New_York', '2026-11-01T01:00:00-05:00'],
    // On the southern half the other way round (IANA tz database, file australasia).
    ['2026-01-15T00:00:00Z', 'Australia/Sydney', '2026-01-15T11:00:00+11:00'],
    ['2026-07-15T00:00:00Z', 'Australia/Sydney', '2026-07-15T10:00:00+10:00'],
    ['2026-07-01T12:00:00Z', 'UTC', '2026-07-01T12:00:00+00:00'],
  ])('labels %s in %s with the offset of that day', (utc, zone, label) => {
    expect(told(utc, zone)).toBe(label);
    // The label is the same instant.
    expect(Date.parse(label)).toBe(Date.parse(utc));
  });

  it('would be an hour off in summer with the offset of winter (negative control)', () => {
    const winter = told('2026-01-15T12:00:00Z', 'Europe/Berlin').slice(-6);
    expect(told('2026-07-01T12:00:00Z', 'Europe/Berlin')).not.toContain(winter);
  });
});

describe('knownZone()', () => {
  it('knows a zone of the database, and no other', () => {
    expect(knownZone('Europe/Berlin')).toBe('Europe/Berlin');
    expect(knownZone('Middle/Nowhere')).toBeNull();
  });
});
