/** tracks.csv: one row a track point, as sent. */
import { type TrackKind, trackKinds } from '../intake/track-bytes.ts';
import { column, type Table } from './csv-table.ts';
import type { FrozenShot, FrozenTrack } from './frozen-shot.ts';

export interface TrackPoint {
  readonly lab: string;
  readonly ordinal: number;
  readonly label: string;
  readonly kind: TrackKind;
  readonly point: number;
  readonly frame: number | null;
  readonly time: number | null;
  readonly timeUnit: string | null;
  readonly position: number;
  readonly gap: number | null;
  readonly unit: string;
}

const required = { required: true };

export const tracksTable: Table<TrackPoint> = {
  file: 'tracks.csv',
  title: 'Cue tracks and ball tracks as sent, one row a point',
  primaryKey: ['lab', 'ordinal', 'kind', 'point'],
  columns: [
    column('lab', 'string', 'Slug of the lab.', (row) => row.lab, required),
    column('ordinal', 'integer', 'Number of the shot within its lab, as in shots.csv.', (row) => row.ordinal, required),
    column('label', 'string', "The lab's own label of the shot.", (row) => row.label, required),
    column('kind', 'string', 'cue: of the cue along the stroke axis. ball: of the cue ball.', (row) => row.kind, {
      required: true,
      allowed: trackKinds,
    }),
    column('point', 'integer', 'Number of the point within its track, from 1.', (row) => row.point, required),
    column('frame', 'integer', 'Frame number as sent; empty when only times were sent.', (row) => row.frame),
    column('time', 'number', 'Time as sent, in timeUnit; empty when only frames were sent.', (row) => row.time),
    column('timeUnit', 'string', 'Unit of time.', (row) => row.timeUnit),
    column('position', 'number', 'Position along the axis as sent, in unit.', (row) => row.position, required),
    column('gap', 'number', 'Gap between tip and ball as sent, in unit, where it was tracked.', (row) => row.gap),
    column('unit', 'string', 'Unit of position and gap: a length, or px with a scale.', (row) => row.unit, required),
  ],
};

function* pointsOf(shot: FrozenShot, kind: TrackKind, track: FrozenTrack): Generator<TrackPoint> {
  for (let index = 0; index < track.positions.length; index += 1) {
    yield {
      lab: shot.lab,
      ordinal: shot.ordinal,
      label: shot.content.label,
      kind,
      point: index + 1,
      frame: track.frames?.[index] ?? null,
      time: track.times?.values[index] ?? null,
      timeUnit: track.times?.unit ?? null,
      position: track.positions[index] ?? Number.NaN,
      gap: track.gaps?.[index] ?? null,
      unit: track.unit,
    };
  }
}

/** Every point of every track, shot by shot, the cue before the ball. */
export function* trackPoints(shots: Iterable<FrozenShot>): Generator<TrackPoint> {
  for (const shot of shots) {
    if (shot.track !== null) yield* pointsOf(shot, 'cue', shot.track);
    if (shot.ballTrack !== null) yield* pointsOf(shot, 'ball', shot.ballTrack);
  }
}

/** The key under which `tracksOfRows` files the tracks of a shot. */
export function shotKey(lab: string, ordinal: string): string {
  return `${lab}/${ordinal}`;
}

export interface FrozenTracks {
  readonly cue: FrozenTrack | null;
  readonly ball: FrozenTrack | null;
}

interface Growing {
  readonly unit: string;
  readonly timeUnit: string;
  readonly positions: number[];
  readonly frames: number[];
  readonly times: number[];
  readonly gaps: (number | null)[];
}

/** A track of which no gap is given was sent without gaps. */
function finish(track: Growing, key: string): FrozenTrack {
  const { unit, timeUnit, positions, frames, times, gaps } = track;
  if ([frames, times].some((list) => list.length !== 0 && list.length !== positions.length))
    throw new Error(`shot ${key}: frames or times are missing for some points`);
  return {
    unit,
    positions,
    frames: frames.length === 0 ? null : frames,
    times: times.length === 0 ? null : { unit: timeUnit, values: times },
    gaps: gaps.every((gap) => gap === null) ? null : gaps,
  };
}

/**
 * Tracks from the rows of tracks.csv, by shot. Points must be numbered 1, 2, 3 and so on, and a track must have frames
 * (times) for all its points or for none. Throws an Error naming the row otherwise.
 */
export function tracksOfRows(rows: readonly (readonly string[])[]): Map<string, FrozenTracks> {
  const growing = new Map<string, { cue: Growing | null; ball: Growing | null }>();
  for (const [index, row] of rows.entries()) {
    const [lab = '', ordinal = '', , kind = '', point = '', frame = '', time = '', timeUnit = '', ...rest] = row;
    const [position = '', gap = '', unit = ''] = rest;
    if (kind !== 'cue' && kind !== 'ball') throw new Error(`row ${index + 2}: there is no track of kind ${kind}`);
    const key = shotKey(lab, ordinal);
    const ofShot = growing.get(key) ?? { cue: null, ball: null };
    growing.set(key, ofShot);
    ofShot[kind] ??= { unit, timeUnit, positions: [], frames: [], times: [], gaps: [] };
    const track = ofShot[kind];
    if (Number(point) !== track.positions.length + 1)
      throw new Error(`row ${index + 2}: point ${point} is out of order`);
    if (unit !== track.unit || timeUnit !== track.timeUnit) throw new Error(`row ${index + 2}: the unit changes`);
    if (position === '') throw new Error(`row ${index + 2}: the position is missing`);
    track.positions.push(Number(position));
    if (frame !== '') track.frames.push(Number(frame));
    if (time !== '') track.times.push(Number(time));
    track.gaps.push(gap === '' ? null : Number(gap));
  }
  const tracks = new Map<string, FrozenTracks>();
  for (const [key, { cue, ball }] of growing) {
    tracks.set(key, { cue: cue === null ? null : finish(cue, key), ball: ball === null ? null : finish(ball, key) });
  }
  return tracks;
}
