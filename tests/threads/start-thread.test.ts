import { once } from 'node:events';
import { expect, it } from 'vitest';
import { startThread } from '../../src/threads/start-thread.ts';

it('starts a TypeScript module in a thread that imports other modules of the source', async () => {
  const thread = startThread(new URL('./doubling-thread.ts', import.meta.url), { workerData: { factor: 2 } });
  try {
    thread.postMessage(21);
    expect(await once(thread, 'message')).toEqual([42]);
    thread.postMessage('abc');
    expect(await once(thread, 'message')).toEqual(['ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad']);
  } finally {
    await thread.terminate();
  }
});
