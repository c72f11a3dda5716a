import { expect, test } from 'vitest';
import { Agenda } from '../../src/emulator/agenda.js';

test('`run()` runs what is due, the earliest first, and once', () => {
  const agenda = new Agenda();
  const ran: string[] = [];
  const late = agenda.register(() => ran.push('late'));
  const early = agenda.register(() => ran.push('early'));
  agenda.schedule(late, 20);
  agenda.schedule(early, 10);
  expect(agenda.next).toBe(10);
  agenda.run(9);
  expect(ran).toEqual([]);
  agenda.run(25);
  agenda.run(25);
  expect(ran).toEqual(['early', 'late']);
  expect(agenda.next).toBe(Number.POSITIVE_INFINITY);
});

test('`schedule()` replaces the time set before, and Infinity cancels it', () => {
  const agenda = new Agenda();
  const ran: number[] = [];
  const task = agenda.register(() => ran.push(1));
  agenda.schedule(task, 10);
  agenda.schedule(task, 30);
  agenda.run(20);
  expect(ran).toEqual([]);
  agenda.schedule(task, Number.POSITIVE_INFINITY);
  agenda.run(40);
  expect(ran).toEqual([]);
});

test('`run()` also runs what a task schedules for itself in the same stretch', () => {
  const agenda = new Agenda();
  const ran: number[] = [];
  const task = agenda.register(() => {
    ran.push(ran.length);
    if (ran.length < 3) agenda.schedule(task, 10 + ran.length);
  });
  agenda.schedule(task, 10);
  agenda.run(15);
  expect(ran).toEqual([0, 1, 2]);
});
