/** Bodies have to keep coming. */
import { setTimeout as sleep } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import { type Pace, paceBody } from '../../src/intake/read/pace-body.ts';

const pace: Pace = { idleSeconds: 0.2, leastBytesPerSecond: 1000, graceSeconds: 0.1 };

async function* sender(waits: readonly number[], bytes: number): AsyncGenerator<Uint8Array> {
  for (const wait of waits) {
    await sleep(wait);
    yield new Uint8Array(bytes);
  }
}

async function read(body: AsyncIterable<Uint8Array>, work = 0): Promise<number> {
  let bytes = 0;
  for await (const chunk of paceBody(body, pace)) {
    bytes += chunk.byteLength;
    await sleep(work);
  }
  return bytes;
}

describe('paceBody', () => {
  it('passes on every byte of a sender that keeps up', async () => {
    expect(await read(sender([0, 1, 0, 1], 5))).toBe(20);
  });
  it('cuts off a sender that stops, whatever it had sent', async () => {
    await expect(read(sender([0, 5000], 1_000_000))).rejects.toMatchObject({ code: 'body-too-slow' });
  });
  it('cuts off a sender that trickles, and says at what rate', async () => {
    await expect(read(sender([60, 60, 60, 60], 1))).rejects.toThrow(/\d+ bytes\/s arrived on average; at least 1000/);
  });
  it('does not count the time that this server takes to work', async () => {
    expect(await read(sender([0, 0, 0, 0], 1), 80)).toBe(4);
  });
});
