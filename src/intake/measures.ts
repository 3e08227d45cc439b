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

/** Paths of measures, and the quantity by which their unit and limits are judged. */
const measurePaths: readonly (readonly [QuantityName, ...string[]])[] = [
  ['objectBallDistance', 'objectBallDistance'],
  ['elevation', 'elevation'],
  ['cuePosition', 'cueTrack'],
  ['trackTime', 'cueTrack', 'times'],
  ['heightReading', 'tipHeight', 'topEdge'],
  ['heightReading', 'tipHeight', 'bottomEdge'],
  ['heightReading', 'tipHeight', 'height'],
  ['heightReading', 'tipHeight', 'ringStep'],
  ['heightReading', 'tipHeight', 'station'],
  ['heightReading', 'tipHeight', 'standardUncertainty'],
  ['ballSpeed', 'ballSpeed'],
  ['outcomeDistance', 'outcome', 'distance'],
  ['outcomeDistance', 'outcome', 'standardUncertainty'],
  ['cueSpeed', 'reported', 'cueSpeed'],
  ['cueAcceleration', 'reported', 'cueAcceleration'],
  ['contactTime', 'reported', 'contactTime'],
  ['tipOffset', 'reported', 'tipOffset'],
];

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
  for (const [quantity, ...path] of measurePaths) {
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
  return { ...holder, [key]: replaced((holder as Record<string, object>)[key] ?? {}, rest, unit) };
}
