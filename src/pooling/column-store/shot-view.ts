/**
 * The shots of a scope, laid out of chunks as the flat columns that analyses read. A column is laid out when it is first
 * read, and then kept as long as the view.
 */
import { type GroupingName, groupingNames, variableNames } from '../../../shared/quantities.ts';
import { type Scope, sightOfScope } from '../../access/visibility.ts';
import { chunkSize } from '../../statistics/moments.ts';
import { commonPartNames, type GroupColumn, type ShotColumns, uncertainNames } from '../columns.ts';
import { compareCodeUnits } from '../compare-code-units.ts';
import {
  type Chunk,
  type ChunkColumns,
  type CodeName,
  type FloatName,
  floatNames,
  noDate,
  readChunk,
  slotBits,
  slotState,
  uncertaintyColumn,
} from './chunk-layout.ts';

/** Everything that a view is made of, as it can be sent to a thread. */
export interface ViewSource {
  /** The same for the same shots in the same scope, and for no others. */
  readonly key: string;
  readonly scope: Scope;
  /** By slug (code units), then index. */
  readonly chunks: readonly Chunk[];
  readonly names: ChunkNames;
}

/** What codes stand for. */
export interface ChunkNames {
  /** name@version by id. */
  readonly gear: Readonly<Record<'rig' | 'cue' | 'table', ReadonlyMap<number, string>>>;
  /** Texts by code, by slug of the lab; a curated term begins with =. */
  readonly texts: ReadonlyMap<string, Readonly<Record<'player' | 'strokeStyle' | 'grip', readonly string[]>>>;
}

/** A chunk, the slots of it that the scope sees (null: all in order), and where they go. */
interface Piece {
  readonly columns: ChunkColumns;
  readonly slots: Int32Array | null;
  readonly count: number;
  readonly from: number;
}

/** @param labels of the shots in order, asked for when somebody reads them */
export function shotView({ scope, chunks, names }: ViewSource, labels: () => readonly string[]): ShotColumns {
  const pieces = piecesOf(chunks, scope);
  const count = pieces.reduce((sum, piece) => sum + piece.count, 0);
  const floats = (name: FloatName) => () => layFloats(pieces, count, floatNames.indexOf(name));
  const part = <Name extends string, Value>(
    partNames: readonly Name[],
    read: (name: Name) => () => Value,
  ): Record<Name, Value> => lazily(partNames.map((name) => [name, read(name)] as const));
  const whole = lazily<
    'ordinals' | 'flags' | 'fromTrack' | 'receivedAt' | 'covarianceSpeedAcceleration' | 'labels',
    unknown
  >([
    ['ordinals', () => layOrdinals(pieces, count)],
    ['flags', () => layCodes(pieces, count, 'flags')],
    ['fromTrack', () => layFromTrack(pieces, count)],
    ['receivedAt', () => layReceivedAt(pieces, count)],
    ['covarianceSpeedAcceleration', floats('covarianceSpeedAcceleration')],
    ['labels', labels],
  ]) as Pick<ShotColumns, 'ordinals' | 'flags' | 'fromTrack' | 'receivedAt' | 'covarianceSpeedAcceleration' | 'labels'>;
  return Object.defineProperties(whole, {
    count: { value: count, enumerable: true },
    variables: { value: part(variableNames, floats), enumerable: true },
    uncertainties: { value: part(uncertainNames, (name) => floats(uncertaintyColumn(name))), enumerable: true },
    commonUncertainties: { value: part(commonPartNames, (name) => floats(uncertaintyColumn(name))), enumerable: true },
    groups: {
      value: part(groupingNames, (name) => () => layGroup(pieces, count, names, name)),
      enumerable: true,
    },
  }) as ShotColumns;
}

/** The same columns with labels: what is laid out is laid out once, and everything can be sent to a thread. */
export function withLabels(columns: ShotColumns, labels: readonly string[]): ShotColumns {
  return Object.defineProperties({} as ShotColumns, {
    ...Object.getOwnPropertyDescriptors(columns),
    labels: { value: labels, enumerable: true },
  });
}

/** An object whose members are computed when they are first read. */
function lazily<Name extends string, Value>(members: readonly (readonly [Name, () => Value])[]): Record<Name, Value> {
  const made = {} as Record<Name, Value>;
  for (const [name, make] of members) {
    let laid: { readonly value: Value } | null = null;
    Object.defineProperty(made, name, {
      enumerable: true,
      get() {
        laid ??= { value: make() };
        return laid.value;
      },
    });
  }
  return made;
}

function piecesOf(chunks: readonly Chunk[], scope: Scope): Piece[] {
  const { ownLab } = sightOfScope(scope);
  const pieces: Piece[] = [];
  let from = 0;
  for (const chunk of chunks) {
    const columns = readChunk(chunk);
    const isOwn = chunk.lab === ownLab;
    const count = isOwn ? columns.shots : columns.sharedShots;
    if (count === 0) continue;
    pieces.push({ columns, slots: count === columns.capacity ? null : slotsSeen(columns, isOwn, count), count, from });
    from += count;
  }
  return pieces;
}

function slotsSeen({ states, capacity }: ChunkColumns, isOwn: boolean, count: number): Int32Array {
  const slots = new Int32Array(count);
  let at = 0;
  for (let slot = 0; slot < capacity; slot += 1) {
    const state = states[slot] as number;
    if (state === slotState.shared || (isOwn && state === slotState.own)) {
      slots[at] = slot;
      at += 1;
    }
  }
  return slots;
}

function layFloats(pieces: readonly Piece[], count: number, column: number): Float64Array {
  const laid = new Float64Array(count);
  for (const { columns, ...piece } of pieces) {
    const values = columns.floats[column] ?? null;
    if (values === null) laid.fill(Number.NaN, piece.from, piece.from + piece.count);
    else lay(laid, values, piece);
  }
  return laid;
}

function layReceivedAt(pieces: readonly Piece[], count: number): Float64Array {
  const laid = new Float64Array(count);
  for (const { columns, ...piece } of pieces) lay(laid, columns.receivedAt, piece);
  return laid;
}

function layCodes(pieces: readonly Piece[], count: number, name: CodeName): Int32Array {
  const laid = new Int32Array(count);
  for (const { columns, ...piece } of pieces) lay(laid, columns.codes[name], piece);
  return laid;
}

function lay<Values extends Float64Array | Int32Array>(
  laid: Values,
  values: Values,
  { slots, count, from }: Omit<Piece, 'columns'>,
): void {
  if (slots === null) {
    laid.set(values, from);
    return;
  }
  for (let at = 0; at < count; at += 1) laid[from + at] = values[slots[at] as number] as number;
}

function layOrdinals(pieces: readonly Piece[], count: number): Int32Array {
  const laid = new Int32Array(count);
  for (const { columns, slots, count: rows, from } of pieces) {
    const first = columns.index * chunkSize;
    for (let at = 0; at < rows; at += 1) laid[from + at] = first + (slots === null ? at : (slots[at] as number));
  }
  return laid;
}

function layFromTrack(pieces: readonly Piece[], count: number): Uint8Array {
  const laid = new Uint8Array(count);
  for (const { columns, slots, count: rows, from } of pieces) {
    for (let at = 0; at < rows; at += 1) {
      laid[from + at] = (columns.bits[slots === null ? at : (slots[at] as number)] as number) & slotBits.fromTrack;
    }
  }
  return laid;
}

/**
 * Codes of the names that occur, sorted by code units. First each code as it stands in the chunks is given a mark, lab
 * by lab; then marks become places among the sorted names.
 */
function layGroup(pieces: readonly Piece[], count: number, names: ChunkNames, grouping: GroupingName): GroupColumn {
  const marks = new Int32Array(count);
  /** Name by mark. */
  const marked: string[] = [];
  const markOf = new Map<string, number>();
  const mark = (name: string): number => {
    const known = markOf.get(name) ?? marked.length;
    if (known === marked.length) {
      markOf.set(name, known);
      marked.push(name);
    }
    return known;
  };
  let lab = '';
  let seen = new Map<number, number>();
  for (const { columns, slots, count: rows, from } of pieces) {
    if (columns.lab !== lab) {
      lab = columns.lab;
      seen = new Map();
    }
    const keyAt = keysOf(columns, grouping);
    const nameOf = (key: number) => nameOfKey(key, grouping, lab, names);
    let lastKey = Number.NaN;
    let last = -1;
    for (let at = 0; at < rows; at += 1) {
      const key = keyAt(slots === null ? at : (slots[at] as number));
      if (key !== lastKey) {
        lastKey = key;
        let found = seen.get(key);
        if (found === undefined) {
          const name = nameOf(key);
          found = name === null ? -1 : mark(name);
          seen.set(key, found);
        }
        last = found;
      }
      marks[from + at] = last;
    }
  }
  const sorted = marked.toSorted(compareCodeUnits);
  const places = Int32Array.from(marked, () => 0);
  for (const [place, name] of sorted.entries()) places[markOf.get(name) as number] = place;
  for (let row = 0; row < count; row += 1) {
    const own = marks[row] as number;
    if (own >= 0) marks[row] = places[own] as number;
  }
  return { codes: marks, names: sorted };
}

/** For a slot a number that stands for one name within the lab. */
function keysOf({ codes, bits }: ChunkColumns, grouping: GroupingName): (slot: number) => number {
  if (grouping === 'lab') return () => 0;
  if (grouping === 'setUp') {
    const { table } = codes;
    return (slot) =>
      (table[slot] as number) < 0
        ? -1
        : 2 * (table[slot] as number) + (((bits[slot] as number) & slotBits.straight) === 0 ? 1 : 0);
  }
  const own = codes[grouping];
  return (slot) => own[slot] as number;
}

function nameOfKey(key: number, grouping: GroupingName, lab: string, { gear, texts }: ChunkNames): string | null {
  switch (grouping) {
    case 'lab':
      return lab;
    case 'sessionDate':
      return key === noDate ? null : new Date(key * 86_400_000 + firstDay).toISOString().slice(0, 10);
    case 'setUp': {
      const table = key < 0 ? undefined : gear.table.get(key >> 1);
      return table === undefined ? null : `${lab}/${table}${(key & 1) === 1 ? '/cut' : ''}`;
    }
    case 'rig':
    case 'cue':
    case 'table': {
      const reference = key < 0 ? undefined : gear[grouping].get(key);
      return reference === undefined ? null : `${lab}/${reference}`;
    }
    default: {
      const text = key < 0 ? undefined : texts.get(lab)?.[grouping][key];
      if (text === undefined) return null;
      // A curated term means the same in every lab.
      return text.startsWith('=') ? text.slice(1) : `${lab}/${text}`;
    }
  }
}

/** 2000-01-01, the day from which PostgreSQL counts. */
const firstDay = Date.UTC(2000, 0, 1);
