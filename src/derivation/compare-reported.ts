/** The lab's own values against the recomputed ones. */
import type { DerivedShot, Estimate } from '../../shared/derivation.ts';
import { rootSumSquares } from './estimate.ts';
import type { ReportedValues } from './take-reported.ts';

export type ComparedValue = DerivedShot['compared'][number];
export const comparedQuantities = ['cueSpeed', 'cueAcceleration', 'contactTime', 'tipOffset'] as const;
export type ComparedQuantity = (typeof comparedQuantities)[number];

/** One line for each quantity that was both reported and recomputed. */
export function compareReported(
  reported: ReportedValues,
  recomputed: Readonly<Record<ComparedQuantity, Estimate | null>>,
): ComparedValue[] {
  const compared: ComparedValue[] = [];
  for (const quantity of comparedQuantities) {
    const own = reported[quantity];
    const ours = recomputed[quantity];
    if (own === null || ours === null) continue;
    compared.push({
      quantity,
      reported: own.value,
      recomputed: ours.value,
      combinedUncertainty: rootSumSquares(own.standardUncertainty, ours.standardUncertainty),
    });
  }
  return compared;
}

/** True when a value differs by more than three combined standard uncertainties. */
export function reportedDiffers(compared: readonly ComparedValue[]): boolean {
  return compared.some(
    ({ reported, recomputed, combinedUncertainty }) => Math.abs(reported - recomputed) > 3 * combinedUncertainty,
  );
}
