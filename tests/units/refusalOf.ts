import { expect } from 'vitest';
import { Refusal } from '../../src/units/refusal.js';

/** The sentence with which a task refuses, without the folder the test works in; the test fails when it does not refuse. */
export async function refusalOf(task: Promise<unknown>, folder: string): Promise<string> {
  const error = await task.then(
    () => null,
    (reason: unknown) => reason,
  );
  expect(error).toBeInstanceOf(Refusal);
  return (error as Refusal).message.replaceAll(`${folder}/`, '');
}
