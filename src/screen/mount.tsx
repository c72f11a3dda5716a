import { render } from 'ink';
import { Screen, type ScreenProps } from './Screen.js';
import { sheetOf } from './terminal.js';

/** A screen on a terminal. */
export interface Mounted {
  show(props: ScreenProps): void;
  /** Draws anew on a terminal of another size, after `clear` has emptied it. */
  remount(props: ScreenProps, clear: () => void): void;
  /** Gives the terminal back, once all is written; the last frame may still stand there. */
  unmount(): Promise<void>;
}

/**
 * Puts the screen on a terminal. Must be imported only after NODE_ENV is `production`: react chooses its build
 * when it is imported, and its development build fills the memory. Every changed frame is drawn whole: ink 6.8
 * starts one line too low when told to draw only the lines that changed.
 */
export function mount(stdin: NodeJS.ReadStream, stdout: NodeJS.WriteStream, first: ScreenProps): Mounted {
  const begin = (props: ScreenProps) =>
    render(<Screen {...props} />, {
      stdin,
      stdout: sheetOf(stdout, props.size.columns),
      exitOnCtrlC: false,
      patchConsole: false,
    });
  let instance = begin(first);
  return {
    show: (props) => instance.rerender(<Screen {...props} />),
    remount(props, clear) {
      // Unmounting may still write the last frame of the old size.
      instance.unmount();
      clear();
      instance = begin(props);
    },
    async unmount() {
      const done = instance.waitUntilExit();
      instance.unmount();
      await done;
    },
  };
}
