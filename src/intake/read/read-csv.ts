/** CSV: one shot a row under a header row, read as it arrives. Such shots carry no track and are stored as reported. */
import { fault } from '../../../shared/fault.ts';
import { Refusal } from '../../../shared/refusal.ts';
import { type CsvColumn, readCsvHeader } from './csv-header.ts';
import { csvRecords } from './csv-records.ts';
import { readCsvShot } from './csv-shot.ts';
import { DecimalMarks } from './decimal-marks.ts';
import type { CsvRow, SentShot } from './sent-shot.ts';

/**
 * Rows of a table of shots in the order sent.
 *
 * @throws Refusal request-invalid (header row), malformed-body, line-too-long
 */
export async function* readCsvRows(chunks: AsyncIterable<Uint8Array>, rowBytes: number): AsyncGenerator<CsvRow> {
  let columns: readonly CsvColumn[] | null = null;
  let marks = new DecimalMarks(',');
  let position = 0;
  for await (const { row, cells, delimiter } of csvRecords(chunks, rowBytes)) {
    if (columns === null) {
      columns = readCsvHeader(cells);
      marks = new DecimalMarks(delimiter);
      continue;
    }
    position += 1;
    yield readCsvShot(position, row, columns, cells, marks);
  }
  if (columns === null) throw new Refusal('request-invalid', 'The CSV has no header row.');
}

/** The tracks that a row names, or that it describes the camera of, and that cannot come in a single CSV. */
export function missingTracks({ shot, tracks }: CsvRow, held: ReadonlySet<string> = new Set()): SentShot {
  const value = shot.value as Record<string, unknown>;
  const named = tracks.filter((kind) => !held.has(kind));
  const faults = named.map((kind) => {
    const sent = `no ${kind} track`;
    const known = kind === 'cue' || kind === 'ball';
    return fault('track-missing', '/tracks', known ? sent : kind, known ? `rows of the ${kind} track` : 'cue or ball');
  });
  if (value.ballTrack === undefined || held.has('ball')) return { ...shot, faults: [...shot.faults, ...faults] };
  const { ballTrack: _camera, ...rest } = value;
  const camera = fault('track-missing', '/ballTrack', 'the camera of a ball track', 'rows of the ball track');
  return { ...shot, value: rest, faults: [...shot.faults, ...faults, camera] };
}

/** Shots of a CSV body in the order sent. */
export async function* readCsv(chunks: AsyncIterable<Uint8Array>, rowBytes: number): AsyncGenerator<SentShot> {
  for await (const row of readCsvRows(chunks, rowBytes)) yield missingTracks(row);
}
