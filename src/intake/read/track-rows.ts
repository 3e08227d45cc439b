/** Rows of a table of tracks, gathered into pieces of one track each. */

import { fault } from '../../../shared/fault.ts';
import type { Fault } from '../../../shared/problems.ts';
import { Refusal } from '../../../shared/refusal.ts';
import { readCsvCell } from './csv-cell.ts';
import { trackColumns } from './csv-columns.ts';
import { type CsvColumn, readCsvHeader } from './csv-header.ts';
import { csvRecords } from './csv-records.ts';
import { DecimalMarks } from './decimal-marks.ts';

export type SentKind = 'cue' | 'ball';

/** Neighbouring rows of one track. Lists are of equal length; null where a cell was empty. */
export interface TrackPiece {
  readonly label: string;
  readonly kind: SentKind;
  /** Number of the table among those of the body, from 0. */
  readonly table: number;
  readonly rows: number[];
  readonly positions: (number | null)[];
  readonly frames: (number | null)[];
  readonly times: (number | null)[];
  readonly gaps: (number | null)[];
  /** Pointers are lists of the track and the place within this piece. */
  readonly faults: Fault[];
}

const mostRows = 2000;
/** A track with 100,000 wrong cells is told a few of them. */
const mostFaults = 5;

const lists = { position: 'positions', frame: 'frames', time: 'times', gap: 'gaps' } as const;

/** A measure of the cell or the plain number; null when there is none. */
function numberOf(value: unknown): number | null {
  if (typeof value === 'number') return value;
  return typeof value === 'object' && value !== null && 'value' in value ? (value.value as number) : null;
}

function emptyPiece(label: string, kind: SentKind, table: number): TrackPiece {
  return { label, kind, table, rows: [], positions: [], frames: [], times: [], gaps: [], faults: [] };
}

function headerOf(cells: readonly string[]): readonly CsvColumn[] {
  const columns = readCsvHeader(cells, trackColumns);
  const refuse = (found: string, expected: string, remedy: string): never => {
    const wrong = { ...fault('structure-invalid', '', found, expected, remedy), pointer: null, row: 1, column: found };
    throw new Refusal('request-invalid', 'The header row of the part tracks is not valid.', {
      faults: [{ ...wrong, part: 'tracks' }],
    });
  };
  const named = (name: string) => columns.find(({ path }) => path[0] === name);
  for (const name of ['label', 'position']) {
    if (named(name) === undefined) refuse('nothing', `a column ${name}`, 'Take the template of tracks.');
  }
  if (named('frame') === undefined && named('time') === undefined) {
    refuse('nothing', 'a column frame or time', 'Give the frame number or the time of each point.');
  }
  const [position, gap] = [named('position'), named('gap')];
  if (gap !== undefined && gap.unit !== position?.unit) {
    refuse(gap.header, `gap[${position?.unit}]`, 'Give gaps in the unit of the positions.');
  }
  return columns;
}

/** Adds one row to the piece of its track. */
function addRow(
  piece: TrackPiece,
  row: number,
  cells: readonly string[],
  columns: readonly CsvColumn[],
  marks: DecimalMarks,
) {
  const index = piece.rows.length;
  const tell = (one: Fault, list: string) => {
    if (piece.faults.length < mostFaults) piece.faults.push({ ...one, pointer: `${list}/${index}` });
  };
  piece.rows.push(row);
  for (const list of Object.values(lists)) piece[list].push(null);
  if (cells.length < columns.length) {
    tell(
      fault('structure-invalid', '', `${cells.length} cells`, `${columns.length} cells, as in the header row`),
      'positions',
    );
  }
  for (const [at, column] of columns.entries()) {
    const name = column.path[0] ?? '';
    const cell = cells[at] ?? '';
    if (name === 'kind' && cell !== '' && cell !== 'cue' && cell !== 'ball') {
      tell(fault('structure-invalid', '', cell, 'cue or ball'), 'kind');
    }
    const list = lists[name as keyof typeof lists];
    if (list === undefined || cell === '') continue;
    const read = readCsvCell(cell, column, marks);
    if ('fault' in read) tell(read.fault, list);
    else piece[list][index] = numberOf(read.value);
  }
  const unread = piece.faults.some(({ pointer }) => pointer === `positions/${index}`);
  if (piece.positions[index] === null && !unread) {
    tell(fault('structure-invalid', '', undefined, 'a position in every row'), 'positions');
  }
}

/**
 * Pieces in the order of the rows.
 *
 * @param keepColumns told the columns of the table before its first piece
 * @throws Refusal request-invalid (header row), malformed-body, line-too-long
 */
export async function* readTrackRows(
  chunks: AsyncIterable<Uint8Array>,
  rowBytes: number,
  table: number,
  keepColumns: (columns: readonly CsvColumn[]) => void,
): AsyncGenerator<TrackPiece> {
  let columns: readonly CsvColumn[] | null = null;
  let marks = new DecimalMarks(',');
  let piece: TrackPiece | null = null;
  for await (const { row, cells, delimiter } of csvRecords(chunks, rowBytes)) {
    if (columns === null) {
      columns = headerOf(cells);
      keepColumns(columns);
      marks = new DecimalMarks(delimiter);
      continue;
    }
    const cellOf = (name: string) => cells[columns?.findIndex(({ path }) => path[0] === name) ?? -1] ?? '';
    const label = cellOf('label');
    const kind: SentKind = cellOf('kind') === 'ball' ? 'ball' : 'cue';
    if (piece === null || piece.label !== label || piece.kind !== kind || piece.rows.length >= mostRows) {
      if (piece !== null) yield piece;
      piece = emptyPiece(label, kind, table);
    }
    addRow(piece, row, cells, columns, marks);
  }
  if (columns === null) throw new Refusal('request-invalid', 'The part tracks has no header row.');
  if (piece !== null) yield piece;
}
