/**
 * One record of the spool: its length (uint32, little-endian), the number of its parts and the length of each, then the
 * parts: a head in JSON, and after it what is stored as it stands: the content, the lists of the tracks, and of each
 * derivation its text and its fields of the hot table.
 */
import type { Fault } from '../../shared/problems.ts';
import { hotFields } from './hot-fields.ts';
import type { PreparedShot, ReadyShot } from './prepared-shot.ts';
import { receiptHash } from './receipt-hash.ts';
import type { SpooledReady, SpooledShot } from './spooled-shot.ts';
import { type EncodedTrack, trackLists } from './track-bytes.ts';

const noBytes = new Uint8Array(0);
const trackFields = ['track', 'ballTrack'] as const satisfies readonly (keyof ReadyShot)[];
const listCount = trackFields.length * trackLists.length;

/** A track without its lists: 0 marks one that is present, null one that is not. */
type BareTrack = Omit<EncodedTrack, (typeof trackLists)[number]> &
  Readonly<Record<(typeof trackLists)[number], 0 | null>>;

interface Head extends Omit<SpooledShot, 'ready'> {
  readonly ready:
    | (Omit<SpooledReady, 'content' | 'derivations' | (typeof trackFields)[number]> & {
        readonly track: BareTrack | null;
        readonly ballTrack: BareTrack | null;
        readonly methods: readonly string[];
      })
    | null;
}

function bare(track: EncodedTrack | null): BareTrack | null {
  if (track === null) return null;
  const mark = (list: Uint8Array | null) => (list === null ? null : 0);
  const { positions, frames, times, gaps, ...rest } = track;
  return { ...rest, positions: mark(positions), frames: mark(frames), times: mark(times), gaps: mark(gaps) };
}

function partsOf(shot: PreparedShot): Uint8Array[] {
  const { ready } = shot;
  if (ready === null) return [Buffer.from(JSON.stringify(shot))];
  const { content, derived, derivedBeside, track, ballTrack, ...rest } = ready;
  const derivations = [...(derived === null ? [] : [derived]), ...derivedBeside];
  const head: Head = {
    ...shot,
    ready: {
      ...rest,
      receiptHash: receiptHash(ready),
      track: bare(track),
      ballTrack: bare(ballTrack),
      methods: derivations.map(({ methodVersion }) => methodVersion),
    },
  };
  return [
    Buffer.from(JSON.stringify(head)),
    Buffer.from(JSON.stringify(content)),
    ...trackFields.flatMap((field) => trackLists.map((list) => ready[field]?.[list] ?? noBytes)),
    ...derivations.flatMap((each) => [Buffer.from(JSON.stringify(each)), hotFields(content, each)]),
  ];
}

export function encodeRecord(shot: PreparedShot): Buffer {
  return join(partsOf(shot));
}

function join(parts: readonly Uint8Array[]): Buffer {
  const headLength = 4 * (2 + parts.length);
  const length = parts.reduce((sum, part) => sum + part.byteLength, headLength);
  const record = Buffer.allocUnsafe(length);
  record.writeUInt32LE(length - 4, 0);
  record.writeUInt32LE(parts.length, 4);
  let position = headLength;
  for (const [index, part] of parts.entries()) {
    record.writeUInt32LE(part.byteLength, 4 * (2 + index));
    record.set(part, position);
    position += part.byteLength;
  }
  return record;
}

/** Length of the record that follows these four bytes. */
export function recordLength(head: Buffer): number {
  return head.readUInt32LE(0);
}

function split(bytes: Buffer): Buffer[] {
  const parts: Buffer[] = [];
  const count = bytes.readUInt32LE(0);
  let position = 4 * (1 + count);
  for (let index = 0; index < count; index++) {
    const length = bytes.readUInt32LE(4 * (1 + index));
    parts.push(bytes.subarray(position, position + length));
    position += length;
  }
  return parts;
}

/** The same record with faults in front of those of the shot. @param bytes the record after its length */
export function withFaults(bytes: Buffer, faults: readonly Fault[]): Buffer {
  const [text, ...parts] = split(bytes);
  // Written by this process.
  const head = JSON.parse(String(text)) as Head;
  return join([Buffer.from(JSON.stringify({ ...head, faults: [...faults, ...head.faults] })), ...parts]);
}

/** @param bytes the record after its length; the shot keeps views of it */
export function decodeRecord(bytes: Buffer): SpooledShot {
  const parts = split(bytes);
  const part = (index: number): Buffer => {
    const found = parts[index];
    if (found === undefined) throw new Error('A record of the spool lacks a part.');
    return found;
  };
  // Written by this process.
  const head = JSON.parse(part(0).toString()) as Head;
  const { ready } = head;
  if (ready === null) return { ...head, ready };
  const withLists = (track: BareTrack | null, field: number): EncodedTrack | null => {
    if (track === null) return null;
    const list = (index: number) => part(2 + field * trackLists.length + index);
    const [positions, frames, times, gaps] = [list(0), list(1), list(2), list(3)];
    return {
      ...track,
      positions,
      frames: track.frames === null ? null : frames,
      times: track.times === null ? null : times,
      gaps: track.gaps === null ? null : gaps,
    };
  };
  const { methods, ...rest } = ready;
  const derivations = methods.map((methodVersion, index) => {
    const first = 2 + listCount + 2 * index;
    return { methodVersion, derived: part(first), hot: part(first + 1) };
  });
  return {
    ...head,
    ready: {
      ...rest,
      content: part(1),
      track: withLists(ready.track, 0),
      ballTrack: withLists(ready.ballTrack, 1),
      derivations,
    },
  };
}

/** A shot in the form in which it would come out of the spool. */
export function spooled(shot: PreparedShot): SpooledShot {
  return decodeRecord(encodeRecord(shot).subarray(4));
}
