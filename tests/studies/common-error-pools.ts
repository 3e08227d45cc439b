/** Simulated pools whose rigs err in their scale, asked through the whole regression, with and without what they state. */
import { regressionSpecificationSchema } from '../../shared/regression.ts';
import { assembleColumns } from '../../src/pooling/assemble-columns.ts';
import { type CommonPartName, commonPartNames, type ShotColumns, type ShotRow } from '../../src/pooling/columns.ts';
import { runRegression } from '../../src/pooling/run-regression.ts';
import { normalDeviates, seededUniform } from '../kinematics/simulated-strokes.ts';
import { inventedRow, uncertainties } from '../pooling/invented-shots.ts';

export const questions = {
  'lab-fixed, CR2 by lab (default)': {},
  'lab-fixed, CR2 by player': { clusterBy: 'player' },
  'lab-fixed, classical': { standardErrors: 'classical' },
  'random lab levels, Kenward-Roger': { labs: 'randomIntercept' },
  'mean of lab slopes, Hartung-Knapp': { labs: 'synthesis' },
} as const;
export type Question = keyof typeof questions;

export interface CommonErrorCell {
  readonly labs: number;
  /** Relative standard uncertainty of the scale of each rig, as stated and as it is. */
  readonly scale: number;
  /** Standard deviation of the labs' true slopes, relative to their mean. */
  readonly slopeDeviation: number;
}

/** Contact time falls by 0.1 ms for each m/s. */
const trueSlope = -1e-4;
const shotsPerLab = 60;

function commonParts(given: Partial<Record<CommonPartName, number>>): Record<CommonPartName, number | null> {
  return Object.fromEntries(commonPartNames.map((name) => [name, given[name] ?? null])) as Record<
    CommonPartName,
    number | null
  >;
}

/** Labs have one rig each, whose scale is wrong by the same factor in all its shots, and four players. */
function pool({ labs, scale, slopeDeviation }: CommonErrorCell, uniform: () => number): ShotRow[] {
  const normal = normalDeviates(uniform);
  return Array.from({ length: labs }, (_, lab) => {
    const factor = 1 + scale * normal();
    const slope = trueSlope * (1 + slopeDeviation * normal());
    const middle = 3 + 0.5 * normal();
    const level = 1.4e-3 + 3e-5 * normal();
    return Array.from({ length: shotsPerLab }, (__, ordinal) => {
      const speed = middle + 0.8 * normal();
      const cueSpeed = speed * factor;
      const row = inventedRow(
        `lab-${String(lab).padStart(2, '0')}`,
        ordinal + 1,
        { cueSpeed, contactTime: level + slope * speed + 2e-5 * normal() },
        {
          player: `P${ordinal % 4}`,
          uncertainties: uncertainties({ cueSpeed: scale * Math.abs(cueSpeed), contactTime: 1e-6 }),
        },
      );
      return { ...row, commonUncertainties: commonParts({ cueSpeedRig: scale * Math.abs(cueSpeed) }) };
    });
  }).flat();
}

export interface CommonErrorCoverage {
  /** Shares of pools whose 95 % interval holds the true mean slope. */
  readonly stated: number;
  readonly ignored: number;
}

/** Coverage with the stated common errors in the answer, and with the same shots when nothing is stated. */
export function commonErrorCoverage(
  cell: CommonErrorCell,
  asked: readonly Question[],
  pools: number,
  seed: number,
): Map<Question, CommonErrorCoverage> {
  const uniform = seededUniform(seed);
  const held = new Map(asked.map((question) => [question, { stated: 0, ignored: 0 }]));
  for (let run = 0; run < pools; run += 1) {
    const rows = pool(cell, uniform);
    const stated = assembleColumns(rows);
    const ignored = assembleColumns(
      rows.map((row) => ({ ...row, commonUncertainties: commonParts({}), uncertainties: uncertainties({}) })),
    );
    for (const question of asked) {
      const count = held.get(question) as { stated: number; ignored: number };
      if (holds(stated, question)) count.stated += 1 / pools;
      if (holds(ignored, question)) count.ignored += 1 / pools;
    }
  }
  return held;
}

function holds(columns: ShotColumns, question: Question): boolean {
  const specification = regressionSpecificationSchema.parse({
    response: 'contactTime',
    terms: [[{ variable: 'cueSpeed' }]],
    ...questions[question],
  });
  const { coefficients } = runRegression(columns, specification, {
    specificationDigest: '',
    dataVersion: '',
    methodVersion: '1',
  });
  const slope = coefficients.find(({ term }) => term === 'cueSpeed');
  return slope !== undefined && slope.interval.lower <= trueSlope && trueSlope <= slope.interval.upper;
}
