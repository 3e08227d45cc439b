/** Telling processes apart, so that a lock left by a killed process is not taken for a live one. */
import { execFileSync } from 'node:child_process';
import { readFileSync, readlinkSync } from 'node:fs';
import { hostname } from 'node:os';

export interface ProcessIdentity {
  readonly pid: number;
  /** When the process started, in whatever form the system tells it; null where it does not. */
  readonly started: string | null;
  readonly host: string;
  /** Boot of the machine and process namespace: within one of them pids can be compared. Null where unknown. */
  readonly boot: string | null;
  readonly namespace: string | null;
}

/** The identity of the running process. */
export function ownIdentity(): ProcessIdentity {
  return {
    pid: process.pid,
    started: startOfProcess(process.pid),
    host: hostname(),
    boot: attempt(() => readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim()),
    namespace: attempt(() => readlinkSync('/proc/self/ns/pid')),
  };
}

/** 'alive' and 'gone' are certain; 'unknown' when it ran on another host or in another container. */
export function judgeProcess(other: ProcessIdentity, own: ProcessIdentity): 'alive' | 'gone' | 'unknown' {
  if (other.host !== own.host) return 'unknown';
  if (other.boot !== own.boot) return 'gone';
  if (other.namespace !== own.namespace) return 'unknown';
  if (!processExists(other.pid)) return 'gone';
  return startOfProcess(other.pid) === other.started ? 'alive' : 'gone';
}

function processExists(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // Without permission to signal it, the process still exists.
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/** Start time of a process: clock ticks since boot on Linux, a date from ps elsewhere, else null. */
function startOfProcess(pid: number): string | null {
  return attempt(() => {
    if (process.platform === 'linux') {
      // The command name is in parentheses and may hold spaces; the fields after it are plain. Start time is field 22.
      const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
      return (
        stat
          .slice(stat.lastIndexOf(')') + 2)
          .split(' ')
          .at(19) ?? null
      );
    }
    if (process.platform === 'win32') return null;
    return execFileSync('ps', ['-o', 'lstart=', '-p', String(pid)], { encoding: 'utf8' }).trim();
  });
}

function attempt(read: () => string | null): string | null {
  try {
    return read();
  } catch {
    return null;
  }
}
