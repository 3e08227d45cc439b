/** Lines of NDJSON, parsed, checked, derived and written as records of the spool; runs in a thread of its own. */
import { type GearVersions, gearBookOf } from '../access/gear-shelves.ts';
import { methodsInUse, publishedMethods } from '../derivation/methods.ts';
import type { ThreadWork } from '../threads/thread-pool.ts';
import { leavesVersionOpen, type PinnedGear } from './gear-references.ts';
import { type ParsedSentShot, parseSentShot, prepareShot } from './prepare-shot.ts';
import { type LineChunk, textsOf } from './read/line-chunks.ts';
import { parseLine } from './read/parse-line.ts';
import { encodeRecord } from './spool-record.ts';

export interface LinesToPrepare {
  readonly chunk: LineChunk;
  readonly gear: GearVersions;
  /** A published version. */
  readonly activeMethod: string;
  /** Gear of the stored shots of these labels, which decides versions left open; null asks for the labels alone. */
  readonly pins: ReadonlyMap<string, PinnedGear> | null;
}

export interface PreparedLines {
  /** Of the shots that leave a version of their gear open. */
  readonly openLabels: readonly string[];
  /** One after another; empty when only labels were asked for. */
  readonly records: Uint8Array;
  /** Where each record ends. */
  readonly ends: readonly number[];
  /** Label of each shot as sent, null when it could not be read. */
  readonly labels: readonly (string | null)[];
  /** Whether each shot has faults. */
  readonly faulty: readonly boolean[];
}

function parseChunk(chunk: LineChunk): ParsedSentShot[] {
  return Array.from(textsOf(chunk), (text, index) => {
    const row = chunk.rows[index] ?? 0;
    return parseSentShot({ position: chunk.position + index, row, columns: null, ...parseLine(text) });
  });
}

/** @throws Refusal malformed-body */
export function prepareLines({ chunk, gear, activeMethod, pins }: LinesToPrepare): PreparedLines {
  const sent = parseChunk(chunk);
  const openLabels = sent.flatMap(({ label, parsed: { shot } }) =>
    label !== null && shot !== null && leavesVersionOpen(shot) ? label : [],
  );
  if (pins === null) return { openLabels, records: new Uint8Array(0), ends: [], labels: [], faulty: [] };
  const methods = methodsInUse(publishedMethods, activeMethod);
  if (methods === null) throw new Error(`Method version ${activeMethod} is not published.`);
  const book = gearBookOf(gear);
  const prepared = sent.map((each) => prepareShot(each, book, pins.get(each.label ?? '') ?? null, methods));
  const records = prepared.map(encodeRecord);
  const ends: number[] = [];
  let length = 0;
  for (const record of records) {
    length += record.byteLength;
    ends.push(length);
  }
  return {
    openLabels,
    records: joined(records, length),
    ends,
    labels: prepared.map(({ label }) => label),
    faulty: prepared.map(({ faults }) => faults.length > 0),
  };
}

/** In memory of their own: a view of a larger buffer would be copied to the other thread with all of it. */
function joined(records: readonly Uint8Array[], length: number): Uint8Array {
  const bytes = new Uint8Array(length);
  let at = 0;
  for (const record of records) {
    bytes.set(record, at);
    at += record.byteLength;
  }
  return bytes;
}

export const run: ThreadWork<LinesToPrepare, PreparedLines> = prepareLines;
