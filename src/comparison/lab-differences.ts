/** The difference in each lab alone, and how far labs differ. */
import type { ComparisonResult } from '../../shared/comparison.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { percent, rounded } from '../pooling/figures-in-words.ts';
import { studentQuantile } from '../statistics/distributions.ts';
import { meanOf, pairedDifference, studentInterval } from '../statistics/paired-difference.ts';
import { synthesis } from '../statistics/synthesis.ts';
import { between, plusMinus, shown } from './effect-words.ts';
import type { PairEstimates } from './estimate-pairs.ts';
import type { MatchedPair } from './match-sides.ts';
import { pWords } from './present-difference.ts';

type LabDifference = ComparisonResult['labs'][number];
interface Asked {
  readonly response: VariableName;
  readonly confidence: number;
}

/** Labs with pairs of their own, in the order of the columns; pairs that mix labs belong to none. */
export function labDifferences(
  { groups }: ShotColumns,
  pairs: readonly MatchedPair[],
  estimates: PairEstimates,
  { response, confidence }: Asked,
): LabDifference[] {
  const { codes, names } = groups.lab;
  const values = estimates.adjustedDifferences ?? estimates.differences;
  const own: number[][] = names.map(() => []);
  pairs.forEach(({ first, second }, place) => {
    if (codes[first] === codes[second]) own[codes[first] as number]?.push(values[place] as number);
  });
  return names.flatMap((lab, code): LabDifference[] => {
    const differences = Float64Array.from(own[code] ?? []);
    const count = differences.length;
    if (count === 0) return [];
    const base = { lab, pairs: count, share: count / pairs.length, unit: quantities[response].siUnit };
    if (count === 1) return [{ ...base, estimate: meanOf(differences), standardError: null, interval: null }];
    const found = pairedDifference(differences);
    const { estimate, standardError } = found;
    return [{ ...base, estimate, standardError, interval: studentInterval(found, confidence) }];
  });
}

/** Random-effects synthesis of the labs that give a spread (REML, Hartung-Knapp); null with fewer than two. */
export function labHeterogeneity(
  labs: readonly LabDifference[],
  { response, confidence }: Asked,
): ComparisonResult['heterogeneity'] {
  const giving = labs.filter(({ standardError }) => standardError !== null && standardError > 0);
  if (giving.length < 2) return null;
  const found = synthesis(
    giving.map(({ estimate }) => estimate),
    giving.map(({ standardError }) => (standardError as number) * (standardError as number)),
    'REML',
    confidence,
  );
  const tau = Math.sqrt(found.tau2);
  const tauInterval = { lower: Math.sqrt(found.tau2Interval.lower), upper: Math.sqrt(found.tau2Interval.upper) };
  const several = found.labs > 2;
  const half = studentQuantile((1 + confidence) / 2, found.degreesOfFreedom) * found.hartungKnappError;
  const interval = several ? { lower: found.estimate - half, upper: found.estimate + half } : null;
  const level = `${rounded(100 * confidence, 4)} %`;
  const mean =
    interval === null
      ? 'two labs give no interval of their mean'
      : `mean of the labs ${plusMinus(response, found.estimate, half)} (${level} interval)`;
  const further =
    found.prediction === null ? '' : `; a further lab would lie at ${between(response, found.prediction)}`;
  return {
    labs: found.labs,
    q: found.heterogeneity,
    degreesOfFreedom: found.degreesOfFreedom,
    pValue: found.heterogeneityP,
    tau,
    tauInterval,
    inconsistency: found.inconsistency,
    estimate: found.estimate,
    interval,
    prediction: found.prediction,
    unit: quantities[response].siUnit,
    sentence: `Between ${found.labs} labs the difference varies with a standard deviation of ${shown(response, tau)} (${level} interval ${between(response, tauInterval)}; Q = ${rounded(found.heterogeneity, 3)} with ${found.degreesOfFreedom} degrees of freedom, ${pWords(found.heterogeneityP)}; ${percent(found.inconsistency)} of the spread between labs is not chance); ${mean}${further}.`,
  };
}
