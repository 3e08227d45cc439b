/** Numbers as they stand in sentences: rounded to what the uncertainty supports, in display units. */
import { quantities, type VariableName } from '../../shared/quantities.ts';

/** Decimal places that show two significant digits of `step`; 0 when step is 10 or more. */
export function decimalsFor(step: number): number {
  if (!(step > 0) || !Number.isFinite(step)) return 3;
  const exponent = Number(step.toExponential(1).split('e')[1]);
  return Math.max(0, 1 - exponent);
}

/** A number with so many decimals; in powers of ten where that would be a long row of zeros. */
export function figure(value: number, decimals: number): string {
  const text = decimals > 7 ? value.toExponential(2) : value.toFixed(Math.min(decimals, 7));
  return /^-[0.]+(?:e[+-]\d+)?$/.test(text) ? text.slice(1) : text;
}

/** A number to so many significant digits, without trailing zeros. */
export function rounded(value: number, digits: number): string {
  return String(Number(value.toPrecision(digits)));
}

/** Display unit after a number; a pure number has none, an offset is counted in ball radii. */
export function displayUnit(variable: VariableName): string {
  const { unit } = quantities[variable].display;
  return unit === '1' ? '' : unit;
}

/** Display value of an SI value. */
export function displayFactor(variable: VariableName): number {
  return quantities[variable].display.factor;
}

/** Share as a percentage, such as 62 %. */
export function percent(share: number): string {
  return `${rounded(share * 100, share > 0.9 ? 3 : 2)} %`;
}

/** a; a and b; a, b and c. */
export function list(items: readonly string[]): string {
  if (items.length < 2) return items.join('');
  return `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
}
