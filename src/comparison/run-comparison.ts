/** The matched comparison: one question, columns of shots, one answer. Pure; the same bits from the same shots. */
import type { ComparisonResult, ComparisonSpecification } from '../../shared/comparison.ts';
import type { JobStep } from '../../shared/job.ts';
import type { VariableName } from '../../shared/quantities.ts';
import { Refusal } from '../../shared/refusal.ts';
import { canonicalComparison } from '../pooling/canonical-specification.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import type { AnalysisBase } from '../pooling/run-regression.ts';
import { type LeftOut, selectShots } from '../pooling/select-shots.ts';
import {
  differencePValue,
  type EstimatedDifference,
  meanOf,
  studentInterval,
} from '../statistics/paired-difference.ts';
import { balance } from './balance.ts';
import { checkComparison } from './check-comparison.ts';
import { comparisonWarnings } from './comparison-warnings.ts';
import { type ContrastSides, contrastSides } from './contrast-sides.ts';
import { estimatePairs } from './estimate-pairs.ts';
import { type ComparisonMargin, judgeDifference } from './judge-difference.ts';
import { groupingWords, type MatchedPair, type MatchedSides, matchSides } from './match-sides.ts';
import { verdictSentence } from './verdict-sentence.ts';
import { withinGroupSlopes } from './within-group-slopes.ts';

const leastPairs = 3;
/** A spread of pair differences below this part of their size is rounding. */
const noSpread = 1e-12;

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
  const { match, response, confidence } = specification;
  const { sides, leftOut } = divide(columns, specification);
  const matched = matchSides(columns, sides, specification, (share) => onProgress?.('matching', share));
  onProgress?.('judging', 0);
  const { pairs } = matched;
  if (pairs.length < leastPairs) throw tooFewPairs(sides, matched, leftOut);

  const estimates = estimatePairs(columns, pairs, specification);
  const { raw, adjusted, quoted } = estimates;
  const largest = estimates.differences.reduce((most, difference) => Math.max(most, Math.abs(difference)), 0);
  if (!(raw.standardError > noSpread * largest)) {
    throw new Refusal(
      'not-estimable',
      `the ${pairs.length} pair differences of ${response} are all the same number, so their spread cannot be judged`,
    );
  }
  const { verdict, equivalence } = judgeDifference(columns, pairs, quoted, margin, confidence);
  const balanced = balance(columns, sides, pairs, match);
  const labs = pairedLabs(columns, pairs);
  return {
    kind: 'comparison',
    specification,
    pairs: pairs.map(({ first, second, distance }) => ({
      first: pairedShot(columns, first, specification),
      second: pairedShot(columns, second, specification),
      distance,
    })),
    unmatched: matched.unmatched,
    ties: matched.ties,
    balance: balanced,
    contrastAchieved: contrastAchieved(columns, pairs, specification),
    raw: differenceOf(raw, confidence),
    adjusted: adjusted === null ? null : differenceOf(adjusted, confidence),
    equivalence,
    verdict,
    sentence: verdictSentence({
      specification,
      pairs: pairs.length,
      labs: labs.length,
      estimate: quoted.estimate,
      interval: studentInterval(quoted, confidence),
      adjusted: adjusted !== null,
      verdict,
      equivalence,
    }),
    warnings: comparisonWarnings({
      columns,
      specification,
      sides,
      matched,
      estimates,
      balance: balanced,
      margin,
      slopes: withinGroupSlopes(columns, sides, specification),
    }),
    provenance: { ...base, labs, shots: 2 * pairs.length, leftOut: [...leftOut] },
  };
}

function missingWords(name: ComparisonSpecification['exact'][number]): string {
  const remedy = name === 'setUp' ? ': give the shot a table' : '';
  return `no ${groupingWords[name]} known${remedy}`;
}

/** Selects the shots that can take part and puts them on their sides. */
function divide(
  columns: ShotColumns,
  { filter, contrast, response, match, exact }: ComparisonSpecification,
): { sides: ContrastSides; leftOut: readonly LeftOut[] } {
  const needed: VariableName[] = [response, ...match.map(({ variable }) => variable)];
  if (contrast.kind !== 'grouping') needed.push(contrast.variable);
  const { indices, leftOut } = selectShots(columns, filter, needed);
  const missing = exact.map(() => 0);
  const rows = indices.filter((row) => {
    const absent = exact.findIndex((name) => (columns.groups[name].codes[row] as number) < 0);
    if (absent < 0) return true;
    missing[absent] = (missing[absent] as number) + 1;
    return false;
  });
  const sides = contrastSides(columns, rows, contrast);
  return {
    sides,
    leftOut: [
      ...leftOut,
      ...exact.map((name, place) => ({ reason: missingWords(name), shots: missing[place] as number })),
      { reason: 'on neither side of the contrast', shots: sides.neither },
    ].filter(({ shots }) => shots > 0),
  };
}

function tooFewPairs(sides: ContrastSides, { pairs, unmatched }: MatchedSides, leftOut: readonly LeftOut[]): Refusal {
  const counts = [...unmatched.reasons, ...leftOut].map(({ reason, shots }) => `${shots} shots: ${reason}`);
  return new Refusal(
    'not-estimable',
    `${pairs.length} pairs were found and at least ${leastPairs} are needed; ` +
      `${sides.first.length} shots on the first side, ${sides.second.length} on the second` +
      `${counts.length > 0 ? ` (${counts.join('; ')})` : ''}`,
  );
}

function differenceOf(difference: EstimatedDifference, confidence: number): ComparisonResult['raw'] {
  const { estimate, standardError, degreesOfFreedom } = difference;
  return {
    estimate,
    standardError,
    degreesOfFreedom,
    interval: studentInterval(difference, confidence),
    pValue: differencePValue(difference),
  };
}

function pairedShot(
  { groups, labels, variables }: ShotColumns,
  row: number,
  { contrast, response, match }: ComparisonSpecification,
): ComparisonResult['pairs'][number]['first'] {
  const nameIn = (grouping: keyof ShotColumns['groups']): string => {
    const { codes, names } = groups[grouping];
    return names[codes[row] as number] ?? '';
  };
  return {
    lab: nameIn('lab'),
    label: labels[row] as string,
    contrast: contrast.kind === 'grouping' ? nameIn(contrast.grouping) : (variables[contrast.variable][row] as number),
    response: variables[response][row] as number,
    match: match.map(({ variable }) => variables[variable][row] as number),
  };
}

function contrastAchieved(
  { variables }: ShotColumns,
  pairs: readonly MatchedPair[],
  { contrast }: ComparisonSpecification,
): ComparisonResult['contrastAchieved'] {
  if (contrast.kind === 'grouping') return null;
  const values = variables[contrast.variable];
  return {
    first: meanOf(Float64Array.from(pairs, ({ first }) => values[first] as number)),
    second: meanOf(Float64Array.from(pairs, ({ second }) => values[second] as number)),
  };
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
