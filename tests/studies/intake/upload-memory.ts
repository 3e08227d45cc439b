/** Resident memory of the server while one upload arrives and is stored. */
import { goodShot, positions } from '../../intake/invented.ts';
import { type Place, ServerProcess } from './server-process.ts';

export interface MemoryFigures {
  readonly shots: number;
  /** Bytes before the upload, after a short one. */
  readonly idle: number;
  /** Bytes at the peak, above idle. */
  readonly more: number;
  readonly seconds: number;
}

/** Points of a track; more than the 190 before contact would lie outside the film. */
const points = 190;
const sampleMilliseconds = 50;

/** Lines of about this many bytes in all, numbered from `first`: no two shots have the same track. */
function* lines(prefix: string, first: number, bytes: number, count: (shots: number) => void): Generator<string> {
  let sent = 0;
  for (let number = 0; sent < bytes; number += 1) {
    const { cue: _cue, table: _table, ...shot } = goodShot(`${prefix}-${number}`, {}, first + number);
    const track = { unit: 'mm', positions: positions(first + number, points), firstFrame: 200 - points };
    const line = `${JSON.stringify({ ...shot, cueTrack: track })}\n`;
    sent += line.length;
    count(number + 1);
    yield line;
  }
}

/** @throws Error when the upload is not stored */
export async function uploadMemory(place: Place, megabytes: number): Promise<MemoryFigures> {
  const server = await ServerProcess.start(place);
  try {
    const token = await server.makeLab('long');
    // A short upload first, so that code loaded once is not counted; so short that it starts no threads.
    await server.upload(
      'long',
      token,
      lines('warm-up', 10_000_000, 6e4, () => {}),
    );
    const idle = server.residentBytes();
    let peak = idle;
    const timer = setInterval(() => {
      peak = Math.max(peak, server.residentBytes());
    }, sampleMilliseconds);
    let shots = 0;
    const started = performance.now();
    const body = lines('shot', 1, megabytes * 1e6, (number) => {
      shots = number;
    });
    const answer = await server.upload('long', token, body);
    clearInterval(timer);
    if (answer.status !== 201)
      throw new Error(`The upload was answered ${answer.status}: ${answer.text.slice(0, 300)}`);
    return { shots, idle, more: peak - idle, seconds: (performance.now() - started) / 1000 };
  } finally {
    await server.stop();
  }
}
