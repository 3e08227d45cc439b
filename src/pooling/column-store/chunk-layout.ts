/**
 * A chunk: the shots of one lab whose ordinals lie between two multiples of 8192, as typed columns in one piece of memory
 * that threads share. The shot of an ordinal has the slot ordinal - 8192 * index. Once it is handed out nothing is
 * written to it any more: a changed chunk is a new one.
 *
 * Layout: header (int32: capacity, shots, shared shots; one byte for each float column: 1 when it has a value), then for
 * `capacity` slots the float columns, the int32 columns and the byte columns. Columns without any value are left out of
 * memory that is really used: their pages are never touched.
 */
import { type VariableName, variableNames } from '../../../shared/quantities.ts';
import { chunkSize } from '../../statistics/moments.ts';
import { hotShot } from '../../store/schema.ts';
import { type CommonPartName, commonPartNames, type UncertainName, uncertainNames } from '../columns.ts';

/** Float columns by name; uncertainties begin with u, as in the hot table. */
export type FloatName =
  | VariableName
  | `u${Capitalize<UncertainName>}`
  | `u${Capitalize<CommonPartName>}`
  | 'covarianceSpeedAcceleration';

const capital = <Name extends string>(name: Name) =>
  `${name.slice(0, 1).toUpperCase()}${name.slice(1)}` as Capitalize<Name>;

/** Name of the column that holds an uncertainty or a part of one. */
export const uncertaintyColumn = (name: UncertainName | CommonPartName): FloatName => `u${capital(name)}`;

export const floatNames: readonly FloatName[] = [
  ...variableNames,
  ...[...uncertainNames, ...commonPartNames].map(uncertaintyColumn),
  'covarianceSpeedAcceleration',
];

/** Codes: ids of gear, places in the dictionaries of the lab, days since 2000-01-01; -1 (noDate for dates) is missing. */
export const codeNames = ['rig', 'cue', 'table', 'player', 'strokeStyle', 'grip', 'sessionDate', 'flags'] as const;
export type CodeName = (typeof codeNames)[number];
export const noDate = -2_147_483_648;

/** SQL names of the float columns, in the order of `floatNames`. */
export const floatColumns: readonly string[] = floatNames.map((name) => hotShot[name].name);

export const slotState = { absent: 0, own: 1, shared: 2 } as const;
/** Bits of the second byte column. */
export const slotBits = { fromTrack: 1, straight: 2 } as const;

const headerInts = 3;
const headerBytes = 128;

export interface Chunk {
  readonly lab: string;
  readonly index: number;
  readonly memory: SharedArrayBuffer;
}

/** The columns of a chunk, laid over its memory. */
export interface ChunkColumns {
  readonly lab: string;
  readonly index: number;
  readonly capacity: number;
  /** Shots, and those of them that are shared. */
  readonly shots: number;
  readonly sharedShots: number;
  /** In the order of `floatNames`; null where no shot has a value. */
  readonly floats: readonly (Float64Array | null)[];
  readonly receivedAt: Float64Array;
  readonly codes: Readonly<Record<CodeName, Int32Array>>;
  readonly states: Uint8Array;
  readonly bits: Uint8Array;
}

/** Bytes of the memory of a chunk. */
export function chunkBytes(capacity: number): number {
  return headerBytes + capacity * ((floatNames.length + 1) * 8 + codeNames.length * 4 + 2);
}

/** Bytes that a full chunk really uses when this many float columns have values. */
export function bytesInUse({ capacity, floats }: ChunkColumns): number {
  const used = floats.filter((column) => column !== null).length;
  return headerBytes + capacity * ((used + 1) * 8 + codeNames.length * 4 + 2);
}

/** A chunk that is being filled: every column is there to be written. */
export interface OpenChunk {
  readonly chunk: Chunk;
  readonly floats: readonly Float64Array[];
  /** 1 once the column holds values, missing ones as NaN. */
  readonly present: Uint8Array;
  readonly counts: Int32Array;
  readonly receivedAt: Float64Array;
  readonly codes: Readonly<Record<CodeName, Int32Array>>;
  readonly states: Uint8Array;
  readonly bits: Uint8Array;
}

/** @param capacity multiple of 8, at most 8192: slots */
export function openChunk(lab: string, index: number, capacity: number): OpenChunk {
  const memory = new SharedArrayBuffer(chunkBytes(capacity));
  const counts = new Int32Array(memory, 0, headerInts);
  counts[0] = capacity;
  return { chunk: { lab, index, memory }, ...laidOver(memory, capacity), counts };
}

/** Lays the columns over the memory of a finished chunk. */
export function readChunk({ lab, index, memory }: Chunk): ChunkColumns {
  const [capacity = 0, shots = 0, sharedShots = 0] = new Int32Array(memory, 0, headerInts);
  const { floats, present, ...columns } = laidOver(memory, capacity);
  return {
    lab,
    index,
    capacity,
    shots,
    sharedShots,
    ...columns,
    floats: floats.map((column, place) => (present[place] === 1 ? column : null)),
  };
}

function laidOver(memory: SharedArrayBuffer, capacity: number) {
  let at = headerBytes;
  const next = (bytes: number): number => {
    const start = at;
    at += bytes;
    return start;
  };
  const floats = floatNames.map(() => new Float64Array(memory, next(8 * capacity), capacity));
  const receivedAt = new Float64Array(memory, next(8 * capacity), capacity);
  const codes = Object.fromEntries(
    codeNames.map((name) => [name, new Int32Array(memory, next(4 * capacity), capacity)]),
  ) as Record<CodeName, Int32Array>;
  return {
    floats,
    present: new Uint8Array(memory, headerInts * 4, floatNames.length),
    receivedAt,
    codes,
    states: new Uint8Array(memory, next(capacity), capacity),
    bits: new Uint8Array(memory, next(capacity), capacity),
  };
}

/** Slots of a chunk of a lab that has given out ordinals below `nextOrdinal`. */
export function capacityOf(index: number, nextOrdinal: number): number {
  const ordinals = Math.min(chunkSize, nextOrdinal - index * chunkSize);
  return Math.ceil(Math.max(ordinals, 1) / 8) * 8;
}
