/** Effects in words of the trade: display units, two significant digits of the uncertainty, distances in balls. */
import type { VariableName } from '../../shared/quantities.ts';
import { decimalsFor, displayFactor, displayUnit, figure, rounded } from '../pooling/figures-in-words.ts';

/** Diameter that "a ball" stands for in sentences (pool ball of the governing body's specification), m. */
export const spokenBall = 0.05715;
/** Distances that a ball travels. */
const travelled: ReadonlySet<VariableName> = new Set([
  'outcomeDistance',
  'earlyOutcomeDistance',
  'outcomeResidual',
  'objectBallDistance',
]);
const namedShares = [
  { share: 0.25, words: 'a quarter ball' },
  { share: 0.5, words: 'half a ball' },
  { share: 0.75, words: 'three quarters of a ball' },
  { share: 1, words: 'one ball' },
] as const;

function withUnit(text: string, variable: VariableName): string {
  const unit = displayUnit(variable);
  return unit === '' ? text : `${text} ${unit}`;
}

/** An SI value in its display unit, to two significant digits or to those of `step`. */
export function shown(variable: VariableName, value: number, step = Math.abs(value)): string {
  const factor = displayFactor(variable);
  return withUnit(figure(value * factor, decimalsFor(step * factor)), variable);
}

/** An SI value that a person chose: as chosen, with at least two decimals below one. */
export function chosen(variable: VariableName, value: number): string {
  const text = rounded(value * displayFactor(variable), 6);
  return withUnit(/^-?0\.\d$/.test(text) ? `${text}0` : text, variable);
}

/** Estimate and half width of its interval, such as '1.1 ± 1.6 cm'. */
export function plusMinus(variable: VariableName, estimate: number, half: number): string {
  const factor = displayFactor(variable);
  const decimals = decimalsFor(half * factor);
  return withUnit(`${figure(estimate * factor, decimals)} ± ${figure(half * factor, decimals)}`, variable);
}

/** Size of an effect; where it is a distance that a ball travels, also in balls. */
export function effectSize(variable: VariableName, size: number): string {
  const plain = shown(variable, size);
  if (!travelled.has(variable)) return plain;
  return `${plain} (${inBalls(size)} of ${rounded(spokenBall * 1000, 4)} mm)`;
}

function inBalls(size: number): string {
  const balls = size / spokenBall;
  const named = namedShares.find(({ share }) => Math.abs(balls / share - 1) < 0.02);
  return named?.words ?? `${rounded(balls, 2)} ${balls < 1 ? 'of a ball' : 'balls'}`;
}

/** Both ends of an interval, such as '-0.4 to 2.6 cm'. */
export function between(variable: VariableName, { lower, upper }: { lower: number; upper: number }): string {
  const factor = displayFactor(variable);
  const decimals = decimalsFor(((upper - lower) / 2) * factor);
  return withUnit(`${figure(lower * factor, decimals)} to ${figure(upper * factor, decimals)}`, variable);
}
