import { describe, expect, it } from 'vitest';
import { terminalOn } from '../../src/screen/terminal.js';
import { fakeTerminal } from './terminals.js';

describe('terminalOn()', () => {
  it('leaves once what it entered', () => {
    const { stdout, written } = fakeTerminal();
    const terminal = terminalOn(stdout);
    terminal.enter();
    terminal.leave();
    terminal.leave();
    expect(written().split('\u001b[?1049l')).toHaveLength(2);
  });

  it('gives the terminal back when the process exits without saying so', () => {
    const { stdout, written } = fakeTerminal();
    const before = process.listeners('exit');
    terminalOn(stdout).enter();
    const [atExit] = process.listeners('exit').filter((listener) => !before.includes(listener));
    atExit?.call(process, 0);
    expect(written()).toContain('\u001b[?1049l');
    expect(process.listeners('exit')).toEqual(before);
  });

  it('sends nothing to what is no terminal', () => {
    const { stdout, written } = fakeTerminal(false);
    const terminal = terminalOn(stdout);
    terminal.enter();
    terminal.ring();
    terminal.leave();
    expect(written()).toBe('');
  });
});
