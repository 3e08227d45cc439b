/** Every place of a shot that holds a unit. */

import { pointerOf } from '../../shared/fault.ts';
import type { QuantityName } from '../../shared/quantities.ts';
import type { Shot } from '../../shared/shot.ts';

export interface UnitPlace {
  /** Keys down to the object that holds `unit`. */
  readonly path: readonly string[];
  readonly pointer: string;
  readonly quantity: QuantityName;
  readonly unit: string;
  /** Null where the unit belongs to a list of values. */
  readonly value: number | null;
}

type MeasurePath = readonly [QuantityName, ...string[]];

/** Paths of a height reading, under the shot or under one of its repeat readings. */
function heightPaths(...under: string[]): MeasurePath[] {
  const measures = ['topEdge', 'bottomEdge', 'height', 'ringStep', 'station', 'standardUncertainty'];
  return measures.map((measure) => ['heightReading', ...under, 'tipHeight', measure]);
}

/** Paths of measures, and the quantity by which their unit and limits are judged. */
const measurePaths: readonly MeasurePath[] = [
  ['objectBallDistance', 'objectBallDistance'],
  ['elevation', 'elevation'],
  ['cuePosition', 'cueTrack'],
  ['trackTime', 'cueTrack', 'times'],
  ['cuePosition', 'ballTrack'],
  ['trackTime', 'ballTrack', 'times'],
  ['captureRate', 'ballTrack', 'captureRate'],
  ['playbackRate', 'ballTrack', 'playbackRate'],
  ['scale', 'ballTrack', 'scale'],
  ['cutAngle', 'cutAngle'],
  ...heightPaths(),
  ['ballSpeed', 'ballSpeed'],
  ['outcomeDistance', 'outcome', 'distance'],
  ['outcomeDistance', 'outcome', 'standardUncertainty'],
  ['outcomeDistance', 'outcome', 'firstCushionDistance'],
  ['cueSpeed', 'reported', 'cueSpeed'],
  ['cueAcceleration', 'reported', 'cueAcceleration'],
  ['contactTime', 'reported', 'contactTime'],
  ['tipOffset', 'reported', 'tipOffset'],
];

function repeatPaths({ repeats }: Shot): MeasurePath[] {
  return repeats.flatMap((_, index): MeasurePath[] => {
    const under = ['repeats', String(index)];
    return [...heightPaths(...under), ['outcomeDistance', ...under, 'outcomeDistance']];
  });
}

interface HoldsUnit {
  readonly unit: string;
  readonly value?: number;
}

function holderAt(shot: Shot, path: readonly string[]): HoldsUnit | undefined {
  let at: unknown = shot;
  for (const key of path) at = (at as Record<string, unknown> | undefined)?.[key];
  return at as HoldsUnit | undefined;
}

/** The places of this shot that hold a unit, in dictionary order of the shot. */
export function unitPlaces(shot: Shot): UnitPlace[] {
  const places: UnitPlace[] = [];
  for (const [quantity, ...path] of [...measurePaths, ...repeatPaths(shot)]) {
    const holder = holderAt(shot, path);
    if (holder === undefined) continue;
    places.push({ path, pointer: pointerOf(path), quantity, unit: holder.unit, value: holder.value ?? null });
  }
  return places;
}

/** The shot with another unit at a place. */
export function withUnit(shot: Shot, path: readonly string[], unit: string): Shot {
  return replaced(shot, path, unit) as Shot;
}

function replaced(holder: object, path: readonly string[], unit: string): object {
  const [key, ...rest] = path;
  if (key === undefined) return { ...holder, unit };
  if (Array.isArray(holder)) {
    return holder.map((member: object, index) => (String(index) === key ? replaced(member, rest, unit) : member));
  }
  return { ...holder, [key]: replaced((holder as Record<string, object>)[key] ?? {}, rest, unit) };
}
