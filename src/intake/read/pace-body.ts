/** A body that keeps coming: a sender that stops or trickles is told so instead of holding a place for ever. */
import { Refusal } from '../../../shared/refusal.ts';

export interface Pace {
  /** Longest wait for the next bytes, s. */
  readonly idleSeconds: number;
  /** Mean rate below which a sender is cut off, bytes/s of the time spent waiting for it. */
  readonly leastBytesPerSecond: number;
  /** Time spent waiting before the rate is judged, s. */
  readonly graceSeconds: number;
}

export const usualPace: Pace = { idleSeconds: 60, leastBytesPerSecond: 1000, graceSeconds: 30 };

const late = Symbol('late');

/** The next chunk, or `late` when it takes longer than this; the wait itself goes on unseen. */
async function within<T>(next: Promise<T>, milliseconds: number): Promise<T | typeof late> {
  let timer: NodeJS.Timeout | undefined;
  const alarm = new Promise<typeof late>((resolve) => {
    timer = setTimeout(() => resolve(late), milliseconds);
  });
  try {
    return await Promise.race([next, alarm]);
  } finally {
    clearTimeout(timer);
  }
}

/**
 * Passes chunks on. Only time spent waiting for the sender counts, not what this server takes to work on them.
 *
 * @throws Refusal body-too-slow
 */
export async function* paceBody(body: AsyncIterable<Uint8Array>, pace: Pace): AsyncGenerator<Uint8Array> {
  const chunks = body[Symbol.asyncIterator]();
  let bytes = 0;
  let waited = 0;
  for (;;) {
    const started = performance.now();
    const pending = chunks.next();
    // A sender that goes away after it was cut off is no longer of interest.
    pending.catch(() => {});
    const next = await within(pending, 1000 * pace.idleSeconds);
    if (next === late) {
      throw new Refusal('body-too-slow', `No byte arrived for ${pace.idleSeconds} s, after ${bytes} bytes.`);
    }
    if (next.done === true) return;
    waited += (performance.now() - started) / 1000;
    bytes += next.value.byteLength;
    if (waited > pace.graceSeconds && bytes < pace.leastBytesPerSecond * waited) {
      const rate = Math.round(bytes / waited);
      throw new Refusal(
        'body-too-slow',
        `${rate} bytes/s arrived on average; at least ${pace.leastBytesPerSecond} bytes/s are expected.`,
      );
    }
    yield next.value;
  }
}
