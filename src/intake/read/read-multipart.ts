/**
 * multipart/form-data: a table of shots and tables of tracks, in any order. Both are sorted by label in the spool
 * directory, joined, and sorted back into the order of the shots, so that memory stays bounded however long they are.
 */

import { fault } from '../../../shared/fault.ts';
import { Refusal } from '../../../shared/refusal.ts';
import type { IntakeLimits } from '../limits.ts';
import { ExternalSort, type SortedRecord } from '../sort/external-sort.ts';
import { GrowingTrack, type SentTrack } from './assemble-tracks.ts';
import type { CsvColumn } from './csv-header.ts';
import { missingTracks, readCsvRows } from './read-csv.ts';
import { readParts, type UploadPart } from './read-parts.ts';
import type { CsvRow, SentShot } from './sent-shot.ts';
import { readTrackRows, type SentKind, type TrackPiece } from './track-rows.ts';

interface StoredRow extends Omit<SentShot, 'columns' | 'tracks'> {
  /** Tracks that the row says were sent with it. */
  readonly named: CsvRow['tracks'];
}

/** The tables as they were met. */
interface Tables {
  shots: readonly CsvColumn[] | null;
  readonly tracks: (readonly CsvColumn[])[];
  rows: number;
}

const toJson = (value: unknown): Buffer => Buffer.from(JSON.stringify(value));
const fromJson = (bytes: Buffer): unknown => JSON.parse(bytes.toString());

function positionKey(position: number): Buffer {
  const key = Buffer.alloc(6);
  key.writeUIntBE(position, 0, 6);
  return key;
}

async function sortShots(part: UploadPart, rowBytes: number, sort: ExternalSort, tables: Tables): Promise<void> {
  if (tables.shots !== null) throw new Refusal('request-invalid', 'The body has two parts named shots.');
  tables.shots = [];
  for await (const { shot, tracks } of readCsvRows(part.content, rowBytes)) {
    const { columns, value, position, row, faults } = shot;
    tables.shots = columns;
    tables.rows = position;
    const label = (value as { label?: string }).label ?? '';
    const stored: StoredRow = { position, row, faults, value, named: tracks };
    await sort.add(Buffer.from(label), toJson(stored));
  }
}

async function sortTracks(part: UploadPart, rowBytes: number, sort: ExternalSort, tables: Tables): Promise<void> {
  const number = tables.tracks.length;
  const keep = (columns: readonly CsvColumn[]) => void tables.tracks.push(columns);
  for await (const piece of readTrackRows(part.content, rowBytes, number, keep)) {
    await sort.add(Buffer.from(piece.label), toJson(piece));
  }
}

/** Records of one key at a time. */
class Grouped {
  readonly #records: AsyncIterator<SortedRecord>;
  #next: SortedRecord | null = null;

  constructor(records: AsyncIterable<SortedRecord>) {
    this.#records = records[Symbol.asyncIterator]();
  }

  async start(): Promise<void> {
    await this.#step();
  }

  async #step(): Promise<void> {
    const next = await this.#records.next();
    this.#next = next.done === true ? null : next.value;
  }

  get key(): Buffer | null {
    return this.#next?.key ?? null;
  }

  /** Every record of the key that stands first. */
  async *take(): AsyncGenerator<Buffer> {
    const key = this.#next?.key;
    while (key !== undefined && this.#next?.key.equals(key) === true) {
      yield this.#next.value;
      await this.#step();
    }
  }
}

type Tracks = Partial<Record<SentKind, SentTrack>>;

async function gather(pieces: AsyncIterable<Buffer>, tables: Tables): Promise<Tracks> {
  const growing: Partial<Record<SentKind, GrowingTrack>> = {};
  for await (const bytes of pieces) {
    const piece = fromJson(bytes) as TrackPiece;
    growing[piece.kind] ??= new GrowingTrack(piece, tables.tracks[piece.table] ?? []);
    growing[piece.kind]?.add(piece);
  }
  const tracks: Tracks = {};
  for (const kind of ['cue', 'ball'] as const) {
    const track = growing[kind]?.finish();
    if (track !== undefined) tracks[kind] = track;
  }
  return tracks;
}

function placesOf({ cue, ball }: Tracks): NonNullable<SentShot['tracks']> {
  return { cue: cue?.place ?? null, ball: ball?.place ?? null };
}

/** A shot with the tracks that were sent for it. */
function joined({ named, ...stored }: StoredRow, tracks: Tracks): Omit<SentShot, 'columns'> {
  const held = new Set((['cue', 'ball'] as const).filter((kind) => tracks[kind] !== undefined));
  const { columns: _columns, ...shot } = missingTracks({ shot: { ...stored, columns: null }, tracks: named }, held);
  const value = { ...(shot.value as Record<string, unknown>) };
  if (tracks.cue?.value) value.cueTrack = tracks.cue.value;
  if (tracks.ball?.value) value.ballTrack = { ...(value.ballTrack as object | undefined), ...tracks.ball.value };
  else delete value.ballTrack;
  const faults = [...shot.faults, ...(tracks.cue?.faults ?? []), ...(tracks.ball?.faults ?? [])];
  return { ...shot, value, faults, tracks: placesOf(tracks) };
}

/** Tracks whose label no shot has, told at their first row. */
function orphans(label: string, tracks: Tracks, position: number): Omit<SentShot, 'columns'> {
  const faults = (['cue', 'ball'] as const).flatMap((kind) => {
    if (tracks[kind] === undefined) return [];
    const found = label === '' ? 'rows without label' : `the ${kind} track of ${label}`;
    return [fault('track-without-shot', `/${kind}Track`, found, 'the label of a shot in the part shots')];
  });
  return { position, row: null, value: null, faults, tracks: placesOf(tracks) };
}

async function join(shots: Grouped, tracks: Grouped, tables: Tables, ordered: ExternalSort): Promise<void> {
  await shots.start();
  await tracks.start();
  let orphaned = tables.rows;
  const add = (shot: Omit<SentShot, 'columns'>) => ordered.add(positionKey(shot.position), toJson(shot));
  for (;;) {
    const [shotKey, trackKey] = [shots.key, tracks.key];
    if (shotKey === null && trackKey === null) return;
    const order = shotKey === null ? 1 : trackKey === null ? -1 : Buffer.compare(shotKey, trackKey);
    if (order > 0) {
      orphaned += 1;
      await add(orphans(String(trackKey), await gather(tracks.take(), tables), orphaned));
      continue;
    }
    let own = order === 0 ? await gather(tracks.take(), tables) : {};
    for await (const bytes of shots.take()) {
      await add(joined(fromJson(bytes) as StoredRow, own));
      // A second shot of the label is refused for its label; it has no track of its own.
      own = {};
    }
  }
}

/**
 * Shots of a multipart body in the order of the part shots, then tracks without a shot.
 *
 * @param framed as `frameParts` gives it
 * @throws Refusal request-invalid, malformed-body, line-too-long
 */
export async function* readMultipart(
  framed: AsyncIterable<Uint8Array>,
  { lineBytes, spoolDirectory }: IntakeLimits,
): AsyncGenerator<SentShot> {
  const sorts: ExternalSort[] = [];
  const sorting = async () => {
    const sort = await ExternalSort.create(spoolDirectory);
    sorts.push(sort);
    return sort;
  };
  try {
    const [shots, tracks, ordered] = [await sorting(), await sorting(), await sorting()];
    const tables: Tables = { shots: null, tracks: [], rows: 0 };
    for await (const part of readParts(framed)) {
      if (part.name === 'shots') await sortShots(part, lineBytes, shots, tables);
      else if (part.name === 'tracks') await sortTracks(part, lineBytes, tracks, tables);
      else {
        const wrong = fault('structure-invalid', '', part.name, 'parts named shots and tracks');
        throw new Refusal('request-invalid', 'The body has a part of another name.', { faults: [wrong] });
      }
    }
    if (tables.shots === null) throw new Refusal('request-invalid', 'The body has no part named shots.');
    await join(new Grouped(shots.sorted()), new Grouped(tracks.sorted()), tables, ordered);
    for await (const { value } of ordered.sorted()) {
      yield { ...(fromJson(value) as Omit<SentShot, 'columns'>), columns: tables.shots };
    }
  } finally {
    for (const sort of sorts) await sort.remove();
  }
}
