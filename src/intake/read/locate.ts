/** From a pointer into the shot to the place that its sender looks for. */
import { type Fault, rowProblems } from '../../../shared/problems.ts';
import type { PreparedShot } from '../prepared-shot.ts';
import { csvColumns } from './csv-columns.ts';
import type { CsvColumn } from './csv-header.ts';
import type { SentPlace } from './sent-shot.ts';

const inside = (outer: string, inner: string): boolean => inner === outer || inner.startsWith(`${outer}/`);

/** Column of a pointer: the one that fills it, or the name of the column that would; null for the whole row. */
function columnOf(pointer: string, columns: readonly CsvColumn[]): string | null {
  if (pointer === '') return null;
  const sent =
    columns.find((column) => inside(column.pointer, pointer)) ??
    columns.find((column) => inside(pointer, column.pointer));
  if (sent !== undefined) return sent.header;
  const known = Object.entries(csvColumns).find(([, { path }]) => inside(`/${path.join('/')}`, pointer));
  return known?.[0] ?? null;
}

/** Columns of tracks by the list of the track that they fill. */
const trackFields: Readonly<Record<string, string>> = {
  positions: 'position',
  unit: 'position',
  frames: 'frame',
  times: 'time',
  gaps: 'gap',
  kind: 'kind',
};

/** Tracks of which only their first rows are known. */
export function tracksFrom({ cue, ball }: NonNullable<PreparedShot['trackRows']>): NonNullable<SentPlace['tracks']> {
  const from = (row: number | null) => (row === null ? null : { columns: [], rows: [row] });
  return { cue: from(cue), ball: from(ball) };
}

/** The place of a fault that is found when a shot is stored. */
export function locateLate(
  fault: Fault,
  { row, trackRows }: Pick<PreparedShot, 'row' | 'trackRows'>,
  columns: SentPlace['columns'],
): Fault {
  return locate(fault, { row, columns, tracks: trackRows && tracksFrom(trackRows) });
}

/** The place of a fault in a table of tracks; null when it is about something else. */
function placeInTracks(pointer: string, tracks: SentPlace['tracks']): Pick<Fault, 'row' | 'column'> | null {
  const [, kind, list, index] = /^\/(cue|ball)Track(?:\/([a-z]+)(?:\/(?:values\/)?(\d+|unit))?)?/.exec(pointer) ?? [];
  const place = kind === 'cue' || kind === 'ball' ? tracks?.[kind] : undefined;
  if (place === undefined || place === null) return null;
  const field = list === undefined ? null : trackFields[list];
  // What a row of shots says about the camera of the ball.
  if (field === undefined) return null;
  const column = place.columns.find(({ path }) => path[0] === field)?.header ?? field;
  const row = list === 'unit' || index === 'unit' ? 1 : (place.rows[Number(index ?? 0)] ?? place.rows[0] ?? null);
  return { row, column };
}

/** What a reader of a table has to compare with: its columns, not the schema. */
function withTableRemedy(fault: Fault): Fault {
  if (fault.remedy !== rowProblems['structure-invalid'].remedy) return fault;
  return { ...fault, remedy: 'Compare the cell with what /v1/templates says about its column.' };
}

/** The fault with row and column (CSV), line and pointer (NDJSON) or pointer alone (JSON). */
export function locate(sent: Fault, { row, columns, tracks }: SentPlace): Fault {
  if (columns === null) return { ...sent, row };
  const fault = withTableRemedy(sent);
  const pointer = fault.pointer ?? '';
  const inShots = { row, column: columnOf(pointer, columns) };
  if (tracks === undefined) return { ...fault, pointer: null, ...inShots };
  const inTracks = placeInTracks(pointer, tracks);
  if (inTracks === null) return { ...fault, pointer: null, ...inShots, part: 'shots' };
  return { ...fault, pointer: null, ...inTracks, part: 'tracks' };
}
