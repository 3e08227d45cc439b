import type { Measure } from '../../shared/measure.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import { Refusal } from '../../shared/refusal.ts';
import { lookUpUnit, toSi, unitNeeds } from '../../shared/units.ts';
import { spokenBall } from './effect-words.ts';

/**
 * Size of a margin in SI.
 * @param size a number in SI, or a value with its unit; ball diameters and radii are those of `ballDiameter`
 * @param ballDiameter a pool ball of 57.15 mm when not given
 * @throws Refusal request-invalid for a unit of another kind, one that needs a camera or a table, or a size of zero or less
 */
export function marginSize(variable: VariableName, size: number | Measure, ballDiameter: Measure | undefined): number {
  if (typeof size === 'number') return size;
  const diameter =
    ballDiameter === undefined ? spokenBall : converted(ballDiameter, 'ballDiameter', '/ballDiameter', {});
  return converted(size, variable, '/value', { ballRadius: diameter / 2 });
}

function converted(
  { value, unit }: Measure,
  quantity: VariableName | 'ballDiameter',
  pointer: string,
  context: { readonly ballRadius?: number },
): number {
  const found = lookUpUnit(unit, quantity);
  if (!found.ok) throw refused(pointer, unit, found.expected, found.remedy);
  const needs = unitNeeds(found.code, quantity);
  if (needs !== null && !(needs in context)) {
    const expected = `a unit of ${quantities[quantity].label} that stands alone`;
    throw refused(pointer, unit, expected, `Use ${quantities[quantity].siUnit}.`);
  }
  const si = toSi(value, found.code, quantity, context);
  if (!(si > 0) || !Number.isFinite(si)) {
    throw refused(pointer, `${value} ${unit}`, 'a size above zero', 'Give the smallest difference that matters.');
  }
  return si;
}

function refused(pointer: string, found: string, expected: string, remedy: string): Refusal {
  return new Refusal('request-invalid', 'the margin is not a size of its variable; see the errors', {
    faults: [{ code: 'request-invalid', pointer, row: null, column: null, found, expected, remedy }],
  });
}
