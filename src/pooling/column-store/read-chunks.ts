/** Fills chunks from the hot table by binary COPY. */

import { chunkSize } from '../../statistics/moments.ts';
import { CopiedRows } from '../../store/copied-rows.ts';
import type { Snapshot } from '../../store/database.ts';
import { hotSource } from '../hot-source.ts';
import type { ByteDictionary } from './byte-dictionary.ts';
import {
  type Chunk,
  capacityOf,
  floatColumns,
  noDate,
  type OpenChunk,
  openChunk,
  slotBits,
  slotState,
} from './chunk-layout.ts';

/** A lab as far as its rows need it. */
export interface LabOfChunks {
  readonly slug: string;
  readonly nextOrdinal: number;
  readonly dictionaries: {
    readonly player: ByteDictionary;
    readonly strokeStyle: ByteDictionary;
    readonly grip: ByteDictionary;
  };
}

/** Which chunks to read: all of a lab, or some by index. */
export type Wanted = ReadonlyMap<number, 'all' | readonly number[]>;

const fixedColumns = [
  'lab_id',
  'ordinal',
  'shared',
  'source',
  'straight',
  'flags',
  'rig_id',
  'cue_id',
  'table_id',
  'received_at',
  'session_date',
  'player',
  'stroke_style',
  'grip',
];
/** Columns of the hot table, in the order in which a row is read. */
export const copiedColumns: readonly string[] = [...fixedColumns, ...floatColumns];

/** Microseconds from 1970 to 2000, the zero of PostgreSQL's instants. */
const postgresZero = 946_684_800_000_000;

/**
 * Reads the wanted chunks; one that has no shots any more is not among them.
 * @param labs by id
 * @returns chunks in no particular order
 */
export async function readChunks(
  snapshot: Snapshot,
  labs: ReadonlyMap<number, LabOfChunks>,
  wanted: Wanted,
): Promise<Chunk[]> {
  if (wanted.size === 0) return [];
  const open = new Map<number, Map<number, OpenChunk>>();
  const rows = new CopiedRows(copiedColumns.length, (view, bytes, at) => takeRow(labs, open, view, bytes, at));
  await snapshot.copy(`select ${copiedColumns.join(', ')} from hot_shot where ${condition(wanted)}`, (bytes) =>
    rows.push(bytes),
  );
  return [...open.values()].flatMap((ofLab) => [...ofLab.values()].map(({ chunk }) => chunk));
}

function condition(wanted: Wanted): string {
  const whole = [...wanted].flatMap(([lab, chunks]) => (chunks === 'all' ? [lab] : []));
  const parts = [...wanted].flatMap(([lab, chunks]) =>
    chunks === 'all'
      ? []
      : chunks.map(
          (index) => `(lab_id = ${lab} and ordinal >= ${index * chunkSize} and ordinal < ${(index + 1) * chunkSize})`,
        ),
  );
  if (whole.length > 0) parts.push(`lab_id in (${whole.join(', ')})`);
  return parts.join(' or ');
}

/** Reads one row into its slot; returns where the row ends. */
function takeRow(
  labs: ReadonlyMap<number, LabOfChunks>,
  open: Map<number, Map<number, OpenChunk>>,
  view: DataView,
  bytes: Uint8Array,
  from: number,
): number {
  // lab_id, ordinal, shared, source, straight and flags are never null: fixed places.
  const labId = view.getInt32(from + 4);
  const ordinal = view.getInt32(from + 12);
  const lab = labs.get(labId);
  if (lab === undefined) throw new Error(`a shot belongs to lab ${labId}, which is not known`);
  const index = Math.floor(ordinal / chunkSize);
  let ofLab = open.get(labId);
  if (ofLab === undefined) {
    ofLab = new Map();
    open.set(labId, ofLab);
  }
  let chunk = ofLab.get(index);
  if (chunk === undefined) {
    chunk = openChunk(lab.slug, index, capacityOf(index, lab.nextOrdinal));
    ofLab.set(index, chunk);
  }
  const { codes, counts, floats, present } = chunk;
  const slot = ordinal - index * chunkSize;
  const isShared = bytes[from + 20] === 1;
  chunk.states[slot] = isShared ? slotState.shared : slotState.own;
  counts[1] = (counts[1] as number) + 1;
  if (isShared) counts[2] = (counts[2] as number) + 1;
  const source = view.getInt16(from + 25);
  const straight = bytes[from + 31] === 1;
  chunk.bits[slot] = (source === hotSource.track ? slotBits.fromTrack : 0) | (straight ? slotBits.straight : 0);
  codes.flags[slot] = view.getInt32(from + 36);
  let at = from + 40;
  const code = (missing: number): number => {
    const length = view.getInt32(at);
    at += 4;
    if (length === -1) return missing;
    const value = view.getInt32(at);
    at += length;
    return value;
  };
  codes.rig[slot] = code(-1);
  codes.cue[slot] = code(-1);
  codes.table[slot] = code(-1);
  // As a Date of the driver: whole milliseconds.
  const instant = view.getInt32(at + 4) * 4_294_967_296 + view.getUint32(at + 8) + postgresZero;
  chunk.receivedAt[slot] = Math.floor(instant / 1000);
  at += 12;
  codes.sessionDate[slot] = code(noDate);
  const text = (dictionary: ByteDictionary): number => {
    const length = view.getInt32(at);
    at += 4;
    if (length === -1) return -1;
    at += length;
    return dictionary.code(bytes, at - length, at);
  };
  codes.player[slot] = text(lab.dictionaries.player);
  codes.strokeStyle[slot] = text(lab.dictionaries.strokeStyle);
  codes.grip[slot] = text(lab.dictionaries.grip);
  for (let column = 0; column < floats.length; column += 1) {
    const length = view.getInt32(at);
    at += 4;
    if (length === -1) {
      if (present[column] === 1) (floats[column] as Float64Array)[slot] = Number.NaN;
      continue;
    }
    const values = floats[column] as Float64Array;
    if (present[column] === 0) {
      // Slots before and after this one hold nothing yet.
      values.fill(Number.NaN);
      present[column] = 1;
    }
    values[slot] = view.getFloat64(at);
    at += 8;
  }
  return at;
}
