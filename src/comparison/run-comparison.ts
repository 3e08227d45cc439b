/** The matched comparison: one question, columns of shots, one answer. Pure; the same bits from the same shots. */
import type { ComparisonResult, ComparisonSpecification } from '../../shared/comparison.ts';
import type { JobStep } from '../../shared/job.ts';
import { quantities } from '../../shared/quantities.ts';
import { Refusal } from '../../shared/refusal.ts';
import { canonicalComparison } from '../pooling/canonical-specification.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import type { AnalysisBase } from '../pooling/run-regression.ts';
import { studentInterval } from '../statistics/paired-difference.ts';
import { leastPairs } from './analyse-variant.ts';
import { balance, worstProduct } from './balance.ts';
import { presentBuiltInBias } from './built-in-bias.ts';
import { checkComparison } from './check-comparison.ts';
import { comparisonWarnings } from './comparison-warnings.ts';
import { type DividedShots, divideShots } from './divide-shots.ts';
import { estimatePairs, hasSpread } from './estimate-pairs.ts';
import { type ComparisonMargin, judgeEquivalence, verdictOf } from './judge-difference.ts';
import { labDifferences, labHeterogeneity } from './lab-differences.ts';
import { type MatchedPair, type MatchedSides, matchSides } from './match-sides.ts';
import { measurementUncertainty } from './measurement-uncertainty.ts';
import { contrastAchieved, presentEstimates } from './present-estimates.ts';
import { presentPairs, presentUnmatched, reasonsOf } from './present-pairs.ts';
import { rankAnalyses } from './rank-analysis.ts';
import { resolveCalipers } from './resolve-calipers.ts';
import { sensitivity } from './sensitivity.ts';
import { unresolvedShots } from './unresolved-shots.ts';
import { verdictSentence } from './verdict-sentence.ts';
import { withinGroupSlopes } from './within-group-slopes.ts';

/**
 * Answers the question from the columns: selects, divides, matches, estimates, judges.
 * @param margin the equivalence margin that the specification names, or null
 * @param onProgress told now and then how far it is
 * @throws Refusal request-invalid when the question contradicts itself; not-estimable, with the counts, when fewer than
 *   three pairs are found or all pair differences are the same number
 */
export function runComparison(
  columns: ShotColumns,
  asked: ComparisonSpecification,
  base: AnalysisBase,
  margin: ComparisonMargin | null,
  onProgress?: (step: JobStep, share: number) => void,
): ComparisonResult {
  checkComparison(asked);
  const specification = canonicalComparison(asked);
  const { response, confidence, exact } = specification;
  const divided = divideShots(columns, specification);
  const { sides } = divided;
  const calipers = resolveCalipers(columns, sides, specification);
  const matched = matchSides(columns, sides, calipers, exact, undefined, (share) => onProgress?.('matching', share));
  onProgress?.('judging', 0);
  const { pairs } = matched;
  if (pairs.length < leastPairs) throw tooFewPairs(divided, matched, specification);

  const estimates = estimatePairs(columns, pairs, calipers, specification);
  if (!hasSpread(estimates)) {
    throw new Refusal(
      'not-estimable',
      `the ${pairs.length} pair differences of ${quantities[response].label} are all the same number, so their spread cannot be judged`,
    );
  }
  const { quoted, quotedBy } = estimates;
  const limit = margin?.value ?? null;
  const verdict = verdictOf(quoted, limit, confidence);
  const equivalence = judgeEquivalence(columns, pairs, quoted, quotedBy !== null, margin, specification);
  const interval = studentInterval(quoted, confidence);
  const matchedVariables = calipers.map(({ variable }) => variable);
  const slopes = withinGroupSlopes(columns, sides, calipers, specification);
  const presented = { columns, sides, matched, calipers, specification };
  const labs = labDifferences(columns, pairs, estimates, specification);
  const provenanceLabs = pairedLabs(columns, pairs);
  const answer: Omit<ComparisonResult, 'warnings'> = {
    kind: 'comparison',
    specification,
    verdict,
    sentence: verdictSentence({
      specification,
      calipers: calipers.map(({ applied }) => applied),
      pairs: pairs.length,
      labs: provenanceLabs.length,
      estimate: quoted.estimate,
      interval,
      adjusted: estimates.quotedOf === 'adjusted',
      clusteredBy: quotedBy,
      verdict,
      equivalence,
    }),
    calipers: calipers.map(({ applied }) => applied),
    pairs: presentPairs(presented, estimates),
    unmatched: presentUnmatched(presented),
    ties: matched.ties,
    optimality: {
      totalDistance: matched.totalDistance,
      costScale: matched.costScale,
      unmatchedCost: matched.unmatchedCost,
      totalCost: matched.totalCost,
      candidates: matched.candidates,
    },
    balance: balance(columns, sides, pairs, matchedVariables),
    worstProduct: worstProduct(columns, sides, pairs, matchedVariables),
    contrastAchieved: contrastAchieved(columns, pairs, specification),
    ...presentEstimates(estimates, calipers, specification),
    ranks: rankAnalyses(estimates, specification),
    measurement: measurementUncertainty(
      columns,
      pairs,
      response,
      matchedVariables,
      matchedVariables.map((_, place) => estimates.adjusted?.slopes[place] ?? slopes[place] ?? null),
    ),
    equivalence,
    labs,
    heterogeneity: labHeterogeneity(labs, specification),
    builtInBias: presentBuiltInBias(columns, sides, pairs, specification, slopes),
    unresolved: unresolvedShots(columns, sides, pairs, calipers, specification, limit),
    sensitivity: sensitivity({
      columns,
      sides,
      calipers,
      specification,
      matched,
      estimates,
      answer: { pairs: pairs.length, estimate: quoted.estimate, interval, verdict },
      margin: limit,
    }),
    provenance: { ...base, labs: provenanceLabs, shots: 2 * pairs.length, leftOut: [...divided.leftOut] },
  };
  const warnings = comparisonWarnings({
    columns,
    divided,
    sides,
    matched,
    calipers,
    estimates,
    slopes,
    margin: limit,
    answer,
  });
  return { ...answer, warnings };
}

function tooFewPairs(
  { sides, leftOut }: DividedShots,
  matched: MatchedSides,
  specification: ComparisonSpecification,
): Refusal {
  const counts = [...reasonsOf(matched, specification), ...leftOut].map(
    ({ reason, shots }) => `${shots} shots: ${reason}`,
  );
  return new Refusal(
    'not-estimable',
    `${matched.pairs.length} pairs were found and at least ${leastPairs} are needed; ` +
      `${sides.first.length} shots on the first side, ${sides.second.length} on the second` +
      `${counts.length > 0 ? ` (${counts.join('; ')})` : ''}`,
  );
}

/** Labs of the paired shots with their counts, in the order of the columns (by slug). */
function pairedLabs({ groups }: ShotColumns, pairs: readonly MatchedPair[]): { lab: string; shots: number }[] {
  const { codes, names } = groups.lab;
  const shots = new Int32Array(names.length);
  for (const { first, second } of pairs) {
    for (const row of [first, second]) {
      const code = codes[row] as number;
      shots[code] = (shots[code] as number) + 1;
    }
  }
  return names.flatMap((lab, code) => (shots[code] === 0 ? [] : [{ lab, shots: shots[code] as number }]));
}
