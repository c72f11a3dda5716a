import { spawnSync } from 'node:child_process';

/** Programs from Debian that tests run, and libraries of theirs by path, with the packages that hold them. */
export const DEBIAN_PROGRAMS = {
  'avr-gcc': ['gcc-avr', 'avr-libc'],
  'avr-objcopy': ['binutils-avr'],
  make: ['make'],
  gcc: ['gcc', 'libc6-dev'],
  '/usr/include/simavr': ['libsimavr-dev'],
  socat: ['socat'],
  strace: ['strace'],
  tmux: ['tmux'],
  zsh: ['zsh'],
  fish: ['fish'],
  openscad: ['openscad'],
  chromium: ['chromium'],
  pdftotext: ['poppler-utils'],
  zbarimg: ['zbar-tools'],
  'xvfb-run': ['xvfb', 'xauth'],
  Rscript: ['r-base-core'],
  python3: ['python3'],
  influxd: ['influxdb'],
  openssl: ['openssl'],
  'systemd-analyze': ['systemd'],
  udevadm: ['udev'],
  'victoria-metrics': ['victoria-metrics'],
  '/usr/lib/R/site-library/metafor': ['r-cran-metafor'],
} as const satisfies Record<string, readonly string[]>;

export type DebianProgram = keyof typeof DEBIAN_PROGRAMS;

const isThere = (program: string): boolean =>
  spawnSync('sh', ['-c', `command -v ${program} || test -d ${program}`], { stdio: 'ignore' }).status === 0;

/** The packages of those programs that are not there. */
export function missingPackages(programs: readonly DebianProgram[]): string[] {
  return programs.filter((program) => !isThere(program)).flatMap((program) => DEBIAN_PROGRAMS[program]);
}

/**
 * Why tests that run these programs are skipped, or null when they run. With CI=true they always run, so
 * that a missing program is a failure.
 */
export function whyNot(...programs: DebianProgram[]): string | null {
  const packages = missingPackages(programs);
  if (packages.length === 0 || process.env['CI'] === 'true') return null;
  return `needs the Debian packages ${packages.join(', ')}`;
}
