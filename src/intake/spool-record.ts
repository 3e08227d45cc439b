/**
 * One record of the spool: its length (uint32, little-endian), then the lengths of its parts, then the parts: JSON, and
 * the lists of the cue track and of the ball track as they are.
 */
import type { PreparedShot, ReadyShot } from './prepared-shot.ts';
import { type EncodedTrack, trackLists } from './track-bytes.ts';

const noBytes = new Uint8Array(0);
const trackFields = ['track', 'ballTrack'] as const satisfies readonly (keyof ReadyShot)[];
const partCount = 1 + trackFields.length * trackLists.length;

/** The track with its lists left out: 0 marks one that is present, null one that is not. */
function withoutLists(track: EncodedTrack | null): object | null {
  if (track === null) return null;
  return { ...track, ...Object.fromEntries(trackLists.map((list) => [list, track[list] === null ? null : 0])) };
}

export function encodeRecord(shot: PreparedShot): Uint8Array {
  const { ready } = shot;
  const bare =
    ready === null ? null : { ...ready, track: withoutLists(ready.track), ballTrack: withoutLists(ready.ballTrack) };
  const lists = trackFields.flatMap((field) => trackLists.map((list) => ready?.[field]?.[list] ?? noBytes));
  const parts = [Buffer.from(JSON.stringify({ ...shot, ready: bare })), ...lists];
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
  const [json = noBytes, ...lists] = parts;
  const shot = JSON.parse(Buffer.from(json).toString()) as PreparedShot;
  const { ready } = shot;
  if (ready === null) return shot;
  const withLists = (track: EncodedTrack | null, field: number): EncodedTrack | null => {
    if (track === null) return null;
    const own = trackLists.map((list, index) => {
      return [list, track[list] === null ? null : lists[field * trackLists.length + index]];
    });
    return { ...track, ...(Object.fromEntries(own) as Pick<EncodedTrack, (typeof trackLists)[number]>) };
  };
  return {
    ...shot,
    ready: { ...ready, track: withLists(ready.track, 0), ballTrack: withLists(ready.ballTrack, 1) },
  };
}
