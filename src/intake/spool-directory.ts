/** A spool directory for each process, so that servers that share a data directory leave each other's uploads alone. */
import { mkdir, readdir, rm } from 'node:fs/promises';
import { join } from 'node:path';

const pattern = /^spool-([0-9]+)$/;

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as { code?: unknown }).code === 'EPERM';
  }
}

/**
 * Makes an empty spool directory for this process and removes those of processes that are gone: what they left was
 * never acknowledged.
 *
 * @returns its path
 */
export async function claimSpoolDirectory(dataDirectory: string, pid: number = process.pid): Promise<string> {
  await mkdir(dataDirectory, { recursive: true });
  for (const name of await readdir(dataDirectory)) {
    const owner = Number(pattern.exec(name)?.[1] ?? 0);
    if (owner > 0 && (owner === pid || !isAlive(owner))) {
      await rm(join(dataDirectory, name), { recursive: true, force: true });
    }
  }
  const own = join(dataDirectory, `spool-${pid}`);
  await mkdir(own, { recursive: true });
  return own;
}
