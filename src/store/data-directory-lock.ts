/** One server per embedded data directory: PGlite itself does not look, and two would destroy the data. */
import { linkSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { judgeProcess, ownIdentity, type ProcessIdentity } from './process-identity.ts';

export interface DataDirectoryLock {
  /** Gives the directory free. Does nothing the second time. */
  release(): void;
}

export class DataDirectoryInUse extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'DataDirectoryInUse';
  }
}

let counter = 0;

/** Two seconds of waiting for another start that replaces the same stale lock. */
const mostAttempts = 100;

/**
 * Takes the lock of an existing directory, replacing one left by a process that is gone.
 * @throws DataDirectoryInUse when another process has it, or may have it; the message says what to do
 */
export function lockDataDirectory(directory: string): DataDirectoryLock {
  const path = join(directory, 'server.lock');
  const own = JSON.stringify({ ...ownIdentity(), lock: ++counter });
  const draft = `${path}.${process.pid}.${counter}`;
  writeFileSync(draft, own, { mode: 0o600 });
  try {
    for (let attempt = 0; !linkIfFree(draft, path); attempt++) {
      refuseUnlessGone(directory, path);
      if (attempt >= mostAttempts) throw new DataDirectoryInUse(`Delete ${path}.takeover, left by a start cut short.`);
      removeStale(draft, path);
    }
  } finally {
    rmSync(draft, { force: true });
  }
  return {
    release() {
      if (readOrNull(path) === own) rmSync(path, { force: true });
    },
  };
}

/** A hard link appears whole or not at all, so nobody ever reads a half-written lock. */
function linkIfFree(draft: string, path: string): boolean {
  try {
    linkSync(draft, path);
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw error;
  }
}

/**
 * Removes a lock whose holder is gone. Two servers may find the same one, and the slower must not remove the lock of
 * the faster: so only the holder of a second lock, kept for a moment, removes anything, after looking again.
 */
function removeStale(draft: string, path: string): void {
  const guard = `${path}.takeover`;
  if (!linkIfFree(draft, guard)) {
    if (verdictOn(readOrNull(guard)) === 'gone') rmSync(guard, { force: true });
    else Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 20);
    return;
  }
  try {
    if (verdictOn(readOrNull(path)) === 'gone') rmSync(path, { force: true });
  } finally {
    rmSync(guard, { force: true });
  }
}

function verdictOn(text: string | null): ReturnType<typeof judgeProcess> {
  const holder = text === null ? null : parseHolder(text);
  return holder === null ? 'unknown' : judgeProcess(holder, ownIdentity());
}

function refuseUnlessGone(directory: string, path: string): void {
  const text = readOrNull(path);
  if (text === null) return;
  const holder = parseHolder(text);
  const verdict = verdictOn(text);
  if (verdict === 'alive') {
    throw new DataDirectoryInUse(
      `The data directory ${directory} is in use by process ${holder?.pid}: stop that server first, ` +
        'or give this one another data directory, or set DATABASE_URL to share a PostgreSQL between several servers.',
    );
  }
  if (verdict === 'unknown') {
    const whose =
      holder === null ? 'something unreadable' : `process ${holder.pid} on ${holder.host} (another host or container)`;
    throw new DataDirectoryInUse(
      `The data directory ${directory} is locked by ${whose}, and it cannot be seen from here whether that still runs: ` +
        `make sure that no server uses the directory, then delete ${path} and start again.`,
    );
  }
}

function readOrNull(path: string): string | null {
  try {
    return readFileSync(path, 'utf8');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
    throw error;
  }
}

function parseHolder(text: string): ProcessIdentity | null {
  try {
    const value = JSON.parse(text) as Partial<ProcessIdentity>;
    return typeof value.pid === 'number' && typeof value.host === 'string'
      ? {
          pid: value.pid,
          host: value.host,
          started: value.started ?? null,
          boot: value.boot ?? null,
          namespace: value.namespace ?? null,
        }
      : null;
  } catch {
    return null;
  }
}
