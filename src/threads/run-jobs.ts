/** Runs in a thread: does one job after another, see thread-pool.ts. */
import { parentPort } from 'node:worker_threads';
import { Refusal } from '../../shared/refusal.ts';
import { type FromThread, refusalMessage, type ThreadJob } from './thread-messages.ts';
import type { ThreadWork } from './thread-pool.ts';

const port = parentPort;
if (port === null) throw new Error('This module runs in a thread only.');

const say = (message: FromThread) => port.postMessage(message);

async function doJob({ module, input }: ThreadJob): Promise<void> {
  try {
    // The pool's caller vouches for the types, which no copy can check.
    const { run } = (await import(module)) as { run: ThreadWork<unknown, unknown> };
    const output = await run(input, (progress) => say({ kind: 'progress', progress }));
    say({ kind: 'output', output });
  } catch (error) {
    say(error instanceof Refusal ? refusalMessage(error) : { kind: 'failure', error });
  }
}

port.on('message', (job: ThreadJob) => void doJob(job));
