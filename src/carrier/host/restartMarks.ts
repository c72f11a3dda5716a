import type { RomId } from '../../units/ids.js';
import type { Mark } from './nineBytes.js';

/**
 * Marks in TH and TL, which a probe that restarts loses: so that one that woke with a plausible value of its own is
 * found out. A mark counts once it has been read back; a probe that does not take it goes without.
 */
export interface RestartMarks {
  /** The mark a reading of this probe must bear, null when none is known to be there. */
  expected(rom: RomId): Mark | null;
  /** Whether to write the mark now. */
  isDue(rom: RomId): boolean;
  wrote(rom: RomId, isWritten: boolean): void;
  /** Takes the nine good bytes of a probe. */
  read(rom: RomId, bytes: Uint8Array): void;
  /** The probe has restarted: its mark is gone. */
  lost(rom: RomId): void;
}

/** Degrees no cup ever has, in a byte's two's complement: the alarm they set never matters here. */
export const MARK: Mark = { th: 83, tl: 0x100 - 41 };
/** The mark as the kernel's file `alarms` takes it. */
export const MARK_TEXT = '-41 83\n';
const TRIES_MAX = 3;

export function restartMarks(): RestartMarks {
  const states = new Map<RomId, { tries: number; isThere: boolean }>();
  const stateOf = (rom: RomId) => {
    const state = states.get(rom) ?? { tries: 0, isThere: false };
    states.set(rom, state);
    return state;
  };
  return {
    expected: (rom) => (stateOf(rom).isThere ? MARK : null),
    isDue: (rom) => !stateOf(rom).isThere && stateOf(rom).tries < TRIES_MAX,
    wrote(rom, isWritten) {
      stateOf(rom).tries += isWritten ? 1 : TRIES_MAX;
    },
    read(rom, bytes) {
      const state = stateOf(rom);
      if (bytes[2] === MARK.th && bytes[3] === MARK.tl && state.tries > 0)
        states.set(rom, { tries: 0, isThere: true });
    },
    lost: (rom) => states.delete(rom),
  };
}
