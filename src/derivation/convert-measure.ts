/** Values as sent, into SI, with the context of the rig and table that the shot used. */
import type { Measure } from '../../shared/measure.ts';
import type { QuantityName } from '../../shared/quantities.ts';
import { lookUpUnit, toSi, type UnitContext, unitNeeds } from '../../shared/units.ts';

/**
 * SI value of a measure.
 *
 * @returns null when the unit needs something that is not known (diamonds without a table length, pixels without a
 *   scale), or when intake should not have let the unit through
 */
export function convertMeasure(measure: Measure, quantity: QuantityName, context: UnitContext): number | null {
  const found = lookUpUnit(measure.unit, quantity);
  if (!found.ok) return null;
  const needs = unitNeeds(found.code, quantity);
  if (needs !== null && context[needs] === undefined) return null;
  return toSi(measure.value, found.code, quantity, context);
}

/** SI value of a measure that may be missing; null when it is, or cannot be converted. */
export function convertOptional(
  measure: Measure | undefined,
  quantity: QuantityName,
  context: UnitContext,
): number | null {
  return measure === undefined ? null : convertMeasure(measure, quantity, context);
}

/** True when the value was read off the film in pixels or given as a length, and so carries the error of the scale. */
export function carriesScaleError(measure: Measure): boolean {
  const found = lookUpUnit(measure.unit, 'cuePosition');
  // Ball radii and diameters are read against the ball in the same frame: free of the scale.
  return !(found.ok && (found.code === 'R' || found.code === 'ball'));
}
