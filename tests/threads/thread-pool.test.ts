import { afterEach, describe, expect, it } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { ThreadPool } from '../../src/threads/thread-pool.ts';

const module = new URL('./trial-thread.ts', import.meta.url);

describe('a pool of threads', () => {
  let pool: ThreadPool;
  const open = (threads: number, queue: number) => {
    pool = new ThreadPool({ threads, queue });
    return (input: unknown, more: { signal?: AbortSignal; onProgress?: (progress: unknown) => void } = {}) =>
      pool.run<unknown>({ module, input, ...more });
  };
  afterEach(() => pool.close());

  it('gives back what the job returns and passes on what it reports, in order', async () => {
    const run = open(1, 0);
    const heard: unknown[] = [];
    const output = await run({ kind: 'add', numbers: [1, 2, 3] }, { onProgress: (progress) => heard.push(progress) });
    expect(output).toBe(6);
    expect(heard).toEqual([1, 3, 6]);
  });

  it('shares memory with the job instead of copying it', async () => {
    const run = open(1, 0);
    const cells = new Float64Array(new SharedArrayBuffer(16));
    await run({ kind: 'fill', cells });
    expect([...cells]).toEqual([7, 7]);
  });

  it('refuses with a time to try again when threads and queue are full', async () => {
    const run = open(1, 1);
    const stop = new AbortController();
    const first = run({ kind: 'forever' }, { signal: stop.signal });
    const second = run({ kind: 'add', numbers: [4] });
    await expect(run({ kind: 'add', numbers: [5] })).rejects.toMatchObject({ code: 'not-ready', retryAfterSeconds: 2 });
    stop.abort();
    await expect(first).rejects.toThrow('abort');
    expect(await second).toBe(4);
  });

  it('ends a job that never ends by itself, running or waiting, and goes on with the next', async () => {
    const run = open(1, 2);
    const [running, waiting] = [new AbortController(), new AbortController()];
    const first = run({ kind: 'forever' }, { signal: running.signal });
    const second = run({ kind: 'forever' }, { signal: waiting.signal });
    const third = run({ kind: 'add', numbers: [8] });
    waiting.abort(new Error('not wanted any more'));
    await expect(second).rejects.toThrow('not wanted any more');
    running.abort(new Error('enough'));
    await expect(first).rejects.toThrow('enough');
    expect(await third).toBe(8);
    await expect(run({ kind: 'add', numbers: [9] }, { signal: running.signal })).rejects.toThrow('enough');
  });

  it('hands on a refusal with all its parts, any other failure, and the death of a thread', async () => {
    const run = open(1, 4);
    const refused = await run({ kind: 'refuse' }).catch((error: unknown) => error);
    expect(refused).toBeInstanceOf(Refusal);
    expect(refused).toMatchObject({ code: 'not-estimable', message: expect.stringMatching(/: too few$/) });
    await expect(run({ kind: 'fail' })).rejects.toThrow('the job failed');
    await expect(run({ kind: 'die' })).rejects.toThrow('ended with code 3');
    await expect(run({ kind: 'add', numbers: [() => 1] })).rejects.toThrow('could not be cloned');
    expect(await run({ kind: 'add', numbers: [1, 1] })).toBe(2);
  });

  it('ends threads that have nothing to do and leaves those that work, and starts new ones when asked again', async () => {
    const run = open(2, 0);
    const first = run({ kind: 'add', numbers: [1] });
    const second = run({ kind: 'add', numbers: [2, 3] });
    expect(await first).toBe(1);
    await pool.endIdle();
    expect(await second).toBe(5);
    expect(await run({ kind: 'add', numbers: [4] })).toBe(4);
  });

  it('ends what runs and what waits when it closes, and takes nothing more', async () => {
    const run = open(1, 1);
    const ended = [run({ kind: 'forever' }), run({ kind: 'forever' })].map((each) =>
      expect(each).rejects.toMatchObject({ code: 'not-ready' }),
    );
    await pool.close();
    await Promise.all(ended);
    expect(pool.load).toEqual({ running: 0, waiting: 0 });
    await expect(run({ kind: 'add', numbers: [1] })).rejects.toMatchObject({ code: 'not-ready' });
  });
});
