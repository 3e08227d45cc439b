import type { DerivedShot, Estimate } from '../../shared/derivation.ts';
import { quantities } from '../../shared/quantities.ts';
import { decimalsFor, figure } from '../pooling/figures-in-words.ts';

type Shown = 'cueSpeed' | 'cueAcceleration' | 'contactTime' | 'tipOffset' | 'outcomeDistance';

/** Value with its standard uncertainty in display units, to two digits of the uncertainty. */
export function inWords(name: Shown, estimate: Estimate | null): string {
  const { label, display } = quantities[name];
  if (estimate === null) return `${label.toLowerCase()} none`;
  const uncertainty = estimate.standardUncertainty * display.factor;
  const decimals = decimalsFor(uncertainty);
  const unit = display.unit === '1' ? '' : ` ${display.unit.replace(/2$/, '²')}`;
  const value = figure(estimate.value * display.factor, decimals).replace(/^-/, '−');
  return `${label.toLowerCase()} ${value} ± ${figure(uncertainty, decimals)}${unit}`;
}

/** The 95 % interval, which may be too narrow to be seen beside its symbol. */
export function intervalWords(name: Shown, estimate: Estimate | null): string {
  if (estimate === null) return '';
  const { display } = quantities[name];
  const decimals = decimalsFor(estimate.standardUncertainty * display.factor);
  const end = (value: number) => figure(value * display.factor, decimals).replace(/^-/, '−');
  return `, 95 % interval ${end(estimate.lower)} to ${end(estimate.upper)} ${display.unit.replace(/2$/, '²')}`;
}

/** Standard deviation of the residuals of the track fit. */
export function deviationWords({ fit }: DerivedShot): string {
  const micrometres = (fit?.residualStandardDeviation ?? 0) * 1e6;
  return `${figure(micrometres, decimalsFor(micrometres))} µm`;
}
