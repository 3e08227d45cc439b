/** Reads shots.csv, tracks.csv and gear.json of a bundle and holds every cell against what its content implies. */
import { z } from 'zod';
import type { Manifest } from '../../shared/release.ts';
import { codebookTable } from './codebook.ts';
import { cellText, readTable, renderTable, rowTexts, type Table } from './csv-table.ts';
import { derivedTable } from './derived-table.ts';
import { frozenContentSchema } from './frozen-content.ts';
import { type FrozenGear, type FrozenShot, hashOfFrozen } from './frozen-shot.ts';
import { gearFileName, readGear } from './gear-file.ts';
import { shotsTable } from './shots-table.ts';
import type { NamedBytes } from './stored-zip.ts';
import { type FrozenTracks, shotKey, trackPoints, tracksOfRows, tracksTable } from './tracks-table.ts';
import { CheckRecorder, fileDifference, type VerificationCheck } from './verification-report.ts';

export interface BundleTables {
  readonly shots: readonly FrozenShot[];
  readonly gear: readonly FrozenGear[];
  /** Rows of derived.csv by shot, as text. */
  readonly derivedRows: ReadonlyMap<string, readonly string[]>;
}

/** Index of a column that the table is known to have. */
function place<Row>(table: Table<Row>, name: string): number {
  return table.columns.findIndex((each) => each.name === name);
}

/** First differing cell of two rows of text, as a difference; null when they are equal. */
export function cellDifference<Row>(
  table: Table<Row>,
  expected: readonly string[],
  found: readonly string[],
): { column: string; expected: string; found: string } | null {
  const index = table.columns.findIndex((_, column) => expected[column] !== found[column]);
  if (index < 0) return null;
  return { column: table.columns[index]?.name ?? '', expected: expected[index] ?? '', found: found[index] ?? '' };
}

class TableReader {
  readonly recorder = new CheckRecorder('tables', 'rows');
  readonly #files: ReadonlyMap<string, Uint8Array>;

  constructor(files: readonly NamedBytes[]) {
    this.#files = new Map(files.map(({ name, bytes }) => [name, bytes]));
  }

  /** Rows of a CSV file; a missing file, a wrong header or broken CSV is recorded and gives no rows. */
  rows(table: Pick<Table<never>, 'file' | 'columns'>): string[][] {
    return this.#read(table.file, (bytes) => {
      const { header, rows } = readTable(bytes);
      const expected = table.columns.map(({ name }) => name).join(',');
      if (header.join(',') !== expected) {
        this.recorder.differ(fileDifference(table.file, `header ${expected}`, `header ${header.join(',')}`));
        return [];
      }
      this.recorder.count(rows.length);
      return rows;
    });
  }

  gear(): FrozenGear[] {
    return this.#read(gearFileName, readGear);
  }

  /** The file written again from what was read of it must be the same file: there is one way to write a value. */
  rewritten<Row>(table: Table<Row>, rows: Iterable<Row>): void {
    this.#read(table.file, (bytes) => {
      this.#sameBytes(table.file, renderTable(table, rows), bytes);
      return [];
    });
  }

  #sameBytes(file: string, expected: Uint8Array, found: Uint8Array): void {
    if (Buffer.compare(expected, found) !== 0) {
      this.recorder.differ(fileDifference(file, 'values written the one way of the format', 'written otherwise'));
    }
  }

  #read<Value>(file: string, read: (bytes: Uint8Array) => Value[]): Value[] {
    const bytes = this.#files.get(file);
    if (bytes === undefined) {
      this.recorder.differ(fileDifference(file, 'a file', 'no such file'));
      return [];
    }
    try {
      return read(bytes);
    } catch (error) {
      this.recorder.differ(fileDifference(file, 'a readable file of format 1', messageOf(error)));
      return [];
    }
  }
}

/** The message of an error in one line. */
export function messageOf(error: unknown): string {
  if (error instanceof z.ZodError) {
    const [issue] = error.issues;
    return issue === undefined ? 'not valid' : `${issue.path.join('/')}: ${issue.message}`;
  }
  return error instanceof Error ? error.message : String(error);
}

/**
 * Everything that the recomputation needs, and the check of the tables: headers, row counts, keys and order, readable
 * columns against `content`, tracks of the stated length.
 */
export function readBundleTables(
  files: readonly NamedBytes[],
  manifest: Manifest,
): { tables: BundleTables; check: VerificationCheck } {
  const reader = new TableReader(files);
  const { recorder } = reader;
  const shotRows = reader.rows(shotsTable);
  const derived = reader.rows(derivedTable);
  const trackRows = reader.rows(tracksTable);
  reader.rows(codebookTable);
  const gear = reader.gear();

  let tracks: ReturnType<typeof tracksOfRows> = new Map();
  try {
    tracks = tracksOfRows(trackRows);
  } catch (error) {
    recorder.differ(fileDifference(tracksTable.file, 'points in order', messageOf(error)));
  }
  const shots: FrozenShot[] = [];
  const stored: FrozenShot[] = [];
  for (const row of shotRows) {
    const [lab, ordinal, label] = row as [string, string, string];
    const difference = { file: shotsTable.file, lab, label };
    try {
      const shot = readShot(row, tracks.get(shotKey(lab, ordinal)) ?? { cue: null, ball: null });
      stored.push(shot);
      const cell = cellDifference(shotsTable, rowTexts(shotsTable, shot), row);
      if (cell !== null) recorder.differ({ ...difference, ...cell });
      shots.push({ ...shot, content: frozenContentSchema.parse(shot.content) });
    } catch (error) {
      recorder.differ({ ...difference, column: 'content', expected: 'a shot as sent', found: messageOf(error) });
    }
  }
  reader.rewritten(shotsTable, stored);
  reader.rewritten(tracksTable, trackPoints(shots));
  countRows(recorder, manifest, shots, derived);
  const derivedRows = new Map(derived.map((row) => [shotKey(row[0] ?? '', row[1] ?? ''), row]));
  return { tables: { shots, gear, derivedRows }, check: recorder.finish() };
}

/** A shot from its row, its content exactly as written; the hash is computed again from content and tracks. */
function readShot(row: readonly string[], tracks: FrozenTracks): FrozenShot {
  const cell = (name: string) => row[place(shotsTable, name)] ?? '';
  const content = JSON.parse(cell('content')) as FrozenShot['content'];
  const shot = {
    lab: cell('lab'),
    ordinal: Number(cell('ordinal')),
    revision: Number(cell('revision')),
    content,
    terms: { strokeStyle: cell('strokeStyleTerm') || null, grip: cell('gripTerm') || null },
    track: tracks.cue,
    ballTrack: tracks.ball,
  };
  return { ...shot, contentHash: hashOfFrozen(shot) };
}

function countRows(
  recorder: CheckRecorder,
  manifest: Manifest,
  shots: readonly FrozenShot[],
  derived: readonly (readonly string[])[],
): void {
  const counts: [file: string, expected: number, found: number][] = [
    [shotsTable.file, manifest.shots, shots.length],
    [derivedTable.file, manifest.shots, derived.length],
    ...manifest.labs.map(({ lab, shots: expected }): [string, number, number] => {
      return [`${shotsTable.file}, lab ${lab}`, expected, shots.filter((shot) => shot.lab === lab).length];
    }),
  ];
  for (const [file, expected, found] of counts) {
    if (expected !== found) recorder.differ(fileDifference(file, `${expected} rows`, `${found} rows`));
  }
  for (const [index, shot] of shots.entries()) {
    const next = shots[index + 1];
    if (next === undefined || shot.lab < next.lab || (shot.lab === next.lab && shot.ordinal < next.ordinal)) continue;
    const { lab, content } = next;
    const expected = 'rows by lab, then ordinal, each once';
    recorder.differ({
      file: shotsTable.file,
      lab,
      label: content.label,
      column: 'ordinal',
      expected,
      found: cellText(next.ordinal),
    });
  }
}
