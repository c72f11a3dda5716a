/** A signal that is aborted when the process is asked to stop, or by `stop`. Call `done` afterwards. */
export function stopSignal(): { signal: AbortSignal; stop: () => void; done: () => void } {
  const controller = new AbortController();
  const stop = () => controller.abort();
  const names = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
  for (const name of names) process.on(name, stop);
  return {
    signal: controller.signal,
    stop,
    done: () => {
      for (const name of names) process.off(name, stop);
    },
  };
}
