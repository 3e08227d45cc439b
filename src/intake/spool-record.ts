/**
 * One record of the spool: its length (uint32, little-endian), then the lengths of its four parts, then the parts:
 * JSON, and the positions, frames and times of the track as they are.
 */
import type { PreparedShot } from './prepared-shot.ts';

const noBytes = new Uint8Array(0);
const partCount = 4;

export function encodeRecord(shot: PreparedShot): Uint8Array {
  const track = shot.ready?.track ?? null;
  const ready =
    shot.ready === null || track === null
      ? shot.ready
      : {
          ...shot.ready,
          track: {
            ...track,
            positions: null,
            frames: track.frames === null ? null : 0,
            times: track.times === null ? null : 0,
          },
        };
  const json = Buffer.from(JSON.stringify({ ...shot, ready }));
  const parts = [json, track?.positions ?? noBytes, track?.frames ?? noBytes, track?.times ?? noBytes];
  const head = Buffer.alloc(4 * (1 + partCount));
  const length = parts.reduce((sum, part) => sum + part.byteLength, 4 * partCount);
  head.writeUInt32LE(length, 0);
  for (const [index, part] of parts.entries()) head.writeUInt32LE(part.byteLength, 4 * (1 + index));
  return Buffer.concat([head, ...parts]);
}

/** Length of the record that follows these four bytes. */
export function recordLength(head: Buffer): number {
  return head.readUInt32LE(0);
}

/** @param bytes the record after its length */
export function decodeRecord(bytes: Buffer): PreparedShot {
  const parts: Uint8Array[] = [];
  let position = 4 * partCount;
  for (let index = 0; index < partCount; index++) {
    const length = bytes.readUInt32LE(4 * index);
    parts.push(bytes.subarray(position, position + length));
    position += length;
  }
  const [json = noBytes, positions = noBytes, frames = noBytes, times = noBytes] = parts;
  const shot = JSON.parse(Buffer.from(json).toString()) as PreparedShot;
  const { ready } = shot;
  if (ready === null || ready.track === null) return shot;
  const { track } = ready;
  return {
    ...shot,
    ready: {
      ...ready,
      track: {
        ...track,
        positions,
        frames: track.frames === null ? null : frames,
        times: track.times === null ? null : times,
      },
    },
  };
}
