/** Use case: how many pairs are needed, from a margin, a power and the spread that was observed. */
import type { ComparisonResult } from '../../shared/comparison.ts';
import type { Planning, PlanningInput } from '../../shared/planning.ts';
import type { Fault } from '../../shared/problems.ts';
import type { VariableName } from '../../shared/quantities.ts';
import { Refusal } from '../../shared/refusal.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { rounded } from '../pooling/figures-in-words.ts';
import { getAnalysis } from '../pooling/stored-analysis.ts';
import { studentQuantile } from '../statistics/distributions.ts';
import { type PairPlan, pairsForDifference, pairsForEquivalence } from '../statistics/equivalence-pairs.ts';
import { differencePower, equivalencePower } from '../statistics/paired-power.ts';
import type { Database } from '../store/database.ts';
import { effectSize, shown } from './effect-words.ts';
import { getMargin, marginToApply } from './margins.ts';

interface Spread {
  readonly pairSpread: number;
  readonly adjustedFor: number;
  readonly pairsAtHand: number | null;
  readonly variable: VariableName | null;
  /** Where to look for the next shots. */
  readonly contrast: ComparisonResult['specification']['contrast'] | null;
}

/** Sizes beside the one asked for, and powers. */
const otherSizes = [0.5, 0.75, 1, 1.5, 2];
const otherPowers = [0.8, 0.9];

/**
 * Pairs needed, with the exact power of the tests.
 * @throws Refusal 'request-invalid' when the parts of the question contradict each other or one is missing;
 *   'unauthenticated', 'not-found', 'margin-superseded' as for the margin and the analysis
 */
export async function planPairs(db: Database, principal: Principal, input: PlanningInput): Promise<Planning> {
  permit(principal, 'readShared');
  refuseContradictions(input);
  const spread = await observedSpread(db, principal, input);
  const named = input.variable ?? spread.variable;
  const margin =
    input.margin === undefined
      ? null
      : await marginToApply(db, input.margin, named ?? (await getMargin(db, principal, input.margin)).variable);
  const variable = named ?? margin?.variable;
  if (variable === undefined) throw invalid('/variable', 'nothing', 'the response that the size is of');
  if (input.variable !== undefined && spread.variable !== null && input.variable !== spread.variable) {
    throw invalid('/variable', input.variable, `${spread.variable}, the response of the analysis`);
  }
  const size = input.goal === 'difference' ? null : (margin?.value ?? (input.size as number));
  const plan = planOf(input, spread);
  const pairs = pairsFor(input.goal, plan, size);
  const test = (count: number) => ({
    standardError: plan.pairSpread / Math.sqrt(count),
    degreesOfFreedom: count - 1 - spread.adjustedFor,
    difference: plan.difference,
  });
  const achieved = (count: number) =>
    size === null ? differencePower(test(count), plan.alpha) : equivalencePower(test(count), size, plan.alpha);
  const tail = input.goal === 'equivalence' ? plan.alpha : plan.alpha / 2;
  const base = size ?? Math.abs(plan.difference);
  const furtherPairs = pairs === null || spread.pairsAtHand === null ? null : Math.max(0, pairs - spread.pairsAtHand);
  return {
    goal: input.goal,
    variable,
    size,
    difference: plan.difference,
    power: plan.power,
    confidence: input.confidence,
    pairSpread: plan.pairSpread,
    adjustedFor: spread.adjustedFor,
    pairs,
    achievedPower: pairs === null ? null : achieved(pairs),
    pairsAtHand: spread.pairsAtHand,
    furtherPairs,
    halfWidth:
      pairs === null ? null : studentQuantile(1 - tail, test(pairs).degreesOfFreedom) * test(pairs).standardError,
    alternatives: otherSizes.flatMap((share) =>
      otherPowers.map((power) => {
        const other =
          input.goal === 'difference' ? { ...plan, power, difference: share * plan.difference } : { ...plan, power };
        return { size: share * base, power, pairs: pairsFor(input.goal, other, size === null ? null : share * size) };
      }),
    ),
    sentence: sentenceOf(input, variable, size, pairs, furtherPairs, spread),
    where: coverageAddress(spread.contrast),
  };
}

function planOf({ confidence, power, difference }: PlanningInput, { pairSpread, adjustedFor }: Spread): PairPlan {
  // Written out so that 0.95 gives 0.05 and not 0.050000000000000044.
  const alpha = Number((1 - confidence).toPrecision(12));
  return { pairSpread, alpha, power, difference, degreesOfFreedom: (count) => count - 1 - adjustedFor };
}

function pairsFor(goal: PlanningInput['goal'], plan: PairPlan, size: number | null): number | null {
  return goal === 'difference' || size === null ? pairsForDifference(plan) : pairsForEquivalence(plan, size);
}

async function observedSpread(db: Database, principal: Principal, input: PlanningInput): Promise<Spread> {
  if (input.analysis === undefined) {
    const pairSpread = input.pairSpread as number;
    return { pairSpread, adjustedFor: 0, pairsAtHand: null, variable: null, contrast: null };
  }
  const { result } = await getAnalysis(db, principal, input.analysis);
  if (result.kind !== 'comparison') throw invalid('/analysis', 'a regression', 'the id of a comparison');
  const { raw, adjusted, pairs, specification } = result;
  const standardError = (adjusted ?? raw).standardError;
  return {
    pairSpread: standardError * Math.sqrt(pairs.length),
    adjustedFor: adjusted === null ? 0 : specification.match.length,
    pairsAtHand: pairs.length,
    variable: specification.response,
    contrast: specification.contrast,
  };
}

function refuseContradictions({ goal, margin, size, analysis, pairSpread, difference }: PlanningInput): void {
  if ((analysis === undefined) === (pairSpread === undefined)) {
    const found = analysis === undefined ? 'neither' : 'both';
    throw invalid('/pairSpread', found, 'either analysis or pairSpread');
  }
  if (goal === 'difference') {
    if (margin !== undefined || size !== undefined) {
      throw invalid('/size', 'a margin', 'no margin: the goal is to find the difference that is assumed');
    }
    if (difference === 0) throw invalid('/difference', '0', 'the difference to be found');
    return;
  }
  if ((margin === undefined) === (size === undefined)) {
    throw invalid('/size', margin === undefined ? 'neither' : 'both', 'either margin or size');
  }
}

function invalid(pointer: string, found: string, expected: string): Refusal {
  const fault: Fault = {
    code: 'request-invalid',
    pointer,
    row: null,
    column: null,
    found,
    expected,
    remedy: 'See PlanningQuestion at /openapi.json.',
  };
  return new Refusal('request-invalid', `at ${pointer}, ${expected} is expected`, { faults: [fault] });
}

function sentenceOf(
  { goal, power, confidence, difference }: PlanningInput,
  variable: VariableName,
  size: number | null,
  pairs: number | null,
  furtherPairs: number | null,
  { pairSpread, pairsAtHand }: Spread,
): string {
  const isSearch = goal === 'difference' || size === null;
  const aim = isSearch
    ? `find a difference of ${effectSize(variable, Math.abs(difference))}`
    : `rule out differences of ${effectSize(variable, size)} or more`;
  const terms = `with ${rounded(100 * power, 3)} % power at ${rounded(100 * confidence, 4)} % confidence`;
  const truth =
    difference === 0
      ? 'there is truly no difference and '
      : `the true difference is ${shown(variable, difference)} and `;
  const conditions = `if ${isSearch ? '' : truth}pair differences go on varying by ${shown(variable, pairSpread)} (standard deviation)`;
  if (pairs === null) return `No number of pairs up to a million would ${aim} ${terms}, ${conditions}.`;
  const more =
    furtherPairs === null
      ? ''
      : furtherPairs === 0
        ? ` (there are ${pairsAtHand} already)`
        : ` (${furtherPairs} more than the ${pairsAtHand} at hand)`;
  return `${pairs} pairs in all${more} would ${aim} ${terms}, ${conditions}.`;
}

function coverageAddress(contrast: Spread['contrast']): string {
  const query = new URLSearchParams();
  if (contrast?.kind === 'grouping') {
    query.set('grouping', contrast.grouping);
    query.set('first', contrast.first);
    query.set('second', contrast.second);
  } else if (contrast !== null && contrast.kind !== 'ranges') {
    query.set('variable', contrast.variable);
    if (contrast.kind === 'threshold') query.set('at', String(contrast.at));
  }
  const text = query.toString();
  return text === '' ? '/v1/coverage' : `/v1/coverage?${text}`;
}
