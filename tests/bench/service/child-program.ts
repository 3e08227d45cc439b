/** A program of ours in a process of its own that listens on a free port and says where in a log line. */
import { type ChildProcess, spawn } from 'node:child_process';
import { createInterface } from 'node:readline';
import { packageRoot } from '../../../src/store/package-root.ts';

export interface ChildProgram {
  /** Such as http://127.0.0.1:40123. */
  readonly address: string;
  readonly pid: number;
  readonly stop: () => Promise<void>;
}

/**
 * Starts it and waits until it listens.
 * @param commandLine for node
 * @param settings environment of the child, besides what any process needs
 * @throws Error with what it wrote when it ends instead
 */
export async function startChild(
  commandLine: readonly string[],
  settings: Readonly<Record<string, string>>,
): Promise<ChildProgram> {
  const { PATH, HOME, TMPDIR } = process.env;
  const child = spawn(process.execPath, [...commandLine], {
    cwd: packageRoot(),
    env: { ...definedOnly({ PATH, HOME, TMPDIR }), ...settings },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const ended = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  const killWithUs = () => child.kill('SIGKILL');
  process.once('exit', killWithUs);
  const address = await listeningAddress(child);
  return {
    address,
    pid: child.pid as number,
    async stop() {
      child.kill('SIGTERM');
      await ended;
      process.off('exit', killWithUs);
    },
  };
}

/** The log says it in a line of JSON; what comes later is read and dropped, so that the child never waits for us. */
function listeningAddress(child: ChildProcess): Promise<string> {
  const written: string[] = [];
  const { stdout, stderr } = child;
  if (stdout === null || stderr === null) throw new Error('The child has no output.');
  return new Promise((resolve, reject) => {
    let found = false;
    const take = (line: string) => {
      if (found) return;
      written.push(line);
      const address = /Server listening at (http:\/\/127\.0\.0\.1:\d+)/.exec(line)?.[1];
      if (address === undefined) return;
      found = true;
      resolve(address);
    };
    createInterface(stdout).on('line', take);
    createInterface(stderr).on('line', take);
    child.once('error', reject);
    child.once('exit', () =>
      reject(new Error(`The program ended before it listened:\n${written.slice(-20).join('\n')}`)),
    );
  });
}

function definedOnly(values: Readonly<Record<string, string | undefined>>): Record<string, string> {
  return Object.fromEntries(
    Object.entries(values).flatMap(([name, value]) => (value === undefined ? [] : [[name, value]])),
  );
}
