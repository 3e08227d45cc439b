/** Memory of another process that is in RAM, and its peak while something runs. */
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';

const samplingMilliseconds = 50;

/** Bytes. Linux tells through /proc, other systems through ps. */
export function residentBytes(pid: number): number {
  if (process.platform === 'linux') {
    const kibibytes = /^VmRSS:\s+(\d+) kB$/m.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1];
    return 1024 * Number(kibibytes);
  }
  return 1024 * Number(execFileSync('ps', ['-o', 'rss=', '-p', String(pid)], { encoding: 'utf8' }));
}

/** Largest of the samples taken while the work runs, every 50 ms. */
export async function peakResidentBytes(pid: number, work: () => Promise<void>): Promise<number> {
  let peak = residentBytes(pid);
  const timer = setInterval(() => {
    peak = Math.max(peak, residentBytes(pid));
  }, samplingMilliseconds);
  try {
    await work();
  } finally {
    clearInterval(timer);
  }
  return Math.max(peak, residentBytes(pid));
}
