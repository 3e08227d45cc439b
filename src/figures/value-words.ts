import type { Estimate } from '../../shared/derivation.ts';
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
