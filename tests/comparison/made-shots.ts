/** Made shots with a known effect, for tests of the pure comparison. */
import { type ComparisonSpecification, comparisonSpecificationSchema } from '../../shared/comparison.ts';
import { analyseVariant, type Variant } from '../../src/comparison/analyse-variant.ts';
import { divideShots } from '../../src/comparison/divide-shots.ts';
import { estimatePairs, type PairEstimates } from '../../src/comparison/estimate-pairs.ts';
import { resolveCalipers } from '../../src/comparison/resolve-calipers.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import { canonicalComparison } from '../../src/pooling/canonical-specification.ts';
import type { ShotColumns, ShotRow } from '../../src/pooling/columns.ts';
import { normalQuantile } from '../../src/statistics/distributions.ts';

export const base = { specificationDigest: 'a'.repeat(64), dataVersion: 'b'.repeat(64), methodVersion: '1' };

/** The specification with its defaults filled in. */
export function specify(specification: Record<string, unknown>): ComparisonSpecification {
  return comparisonSpecificationSchema.parse(specification);
}

/** Normal deviates from a linear congruential generator (Numerical Recipes constants). */
export function deviates(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return normalQuantile((state + 0.5) / 4294967296);
  };
}

export type MadeShot = Partial<Omit<ShotRow, 'variables' | 'uncertainties'>> & {
  readonly variables?: Partial<ShotRow['variables']>;
  readonly uncertainties?: Partial<ShotRow['uncertainties']>;
};

export function madeColumns(shots: readonly MadeShot[]): ShotColumns {
  return assembleColumns(
    shots.map((shot, place) => ({
      lab: 'north',
      ordinal: place + 1,
      label: `shot-${String(place + 1).padStart(5, '0')}`,
      rig: 'main@1',
      cue: 'maple@1',
      table: 'club@1',
      straight: true,
      player: 'P1',
      strokeStyle: null,
      grip: null,
      sessionDate: '2026-03-01',
      flags: 0,
      fromTrack: true,
      receivedAt: Date.UTC(2026, 2, 1),
      covarianceSpeedAcceleration: null,
      ...shot,
      variables: {
        cueSpeed: 3,
        cueAcceleration: 0,
        contactTime: 0.001,
        countedContactTime: null,
        tipOffset: -0.3,
        tipHeight: -0.01,
        objectBallDistance: 1,
        outcomeDistance: 0,
        ballSpeed: null,
        cueMass: 0.54,
        elevation: null,
        outcomeClass: null,
        earlyOutcomeDistance: null,
        outcomeResidual: null,
        ...shot.variables,
      },
      uncertainties: {
        cueSpeed: 0.01,
        cueAcceleration: 0.5,
        contactTime: 5e-5,
        tipOffset: 0.005,
        outcomeDistance: 0.005,
        outcomeResidual: null,
        ...shot.uncertainties,
      },
    })),
  );
}

/**
 * Planned repeats: `pairs` accelerating and as many slowing strokes at the same targets, missed by a little in speed
 * and tip offset, whose outcome depends on speed (-0.4 m per m/s), tip offset (3 m per R) and the sign of the
 * acceleration (`effect`, m), with noise of 0.02 m.
 */
export function plannedRepeats(pairs: number, effect: number, seed: number, more: MadeShot = {}): MadeShot[] {
  const deviate = deviates(seed);
  const shots: MadeShot[] = [];
  for (let pair = 0; pair < pairs; pair++) {
    const targetSpeed = 2 + 0.15 * (pair % 9);
    const targetOffset = -0.45 + 0.06 * (pair % 7);
    for (const sign of [1, -1]) {
      // The sides miss their targets differently: only an adjusted difference is free of that.
      const cueSpeed = targetSpeed + 0.015 * deviate() + 0.012 * sign;
      const tipOffset = targetOffset + 0.005 * deviate();
      const outcomeDistance =
        -0.1 - 0.4 * (cueSpeed - 2.5) + 3 * tipOffset + (sign > 0 ? effect : 0) + 0.02 * deviate();
      shots.push({
        ...more,
        variables: { cueSpeed, tipOffset, outcomeDistance, cueAcceleration: sign * (6 + deviate()) },
      });
    }
  }
  return shots;
}

/** The bare answer, without its sensitivity analyses: for the many runs of a simulation. */
export function bareAnswer(
  shots: readonly MadeShot[],
  asked: ComparisonSpecification,
  margin: number | null,
): { variant: Variant; estimates: PairEstimates } {
  const columns = madeColumns(shots);
  const specification = canonicalComparison(asked);
  const { sides } = divideShots(columns, specification);
  const calipers = resolveCalipers(columns, sides, specification);
  const { variant, matched } = analyseVariant(columns, sides, calipers, specification, margin);
  return { variant, estimates: estimatePairs(columns, matched.pairs, calipers, specification) };
}
