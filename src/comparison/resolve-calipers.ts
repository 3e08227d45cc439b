/** Calipers as asked for become calipers as applied, with the reason in words. */
import type { AppliedCaliper } from '../../shared/comparison-pairs.ts';
import type { ComparisonSpecification } from '../../shared/comparison-specification.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import { type Caliper, widestReach } from '../matching/caliper.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { rounded } from '../pooling/figures-in-words.ts';
import { pooledDeviation } from '../statistics/standardised-difference.ts';
import type { ContrastSides } from './contrast-sides.ts';
import { chosen, shown } from './effect-words.ts';
import { ownUncertainty, typicalUncertainty } from './own-uncertainty.ts';

export interface ResolvedCaliper {
  readonly variable: VariableName;
  /** What the matching works with, SI. */
  readonly caliper: Caliper;
  /** Natural size of a difference, SI: the caliper, the widest where pairs differ in it. */
  readonly scale: number;
  readonly applied: AppliedCaliper;
}

/**
 * Proposals where practice has a round figure: a tenth of a metre per second, 0.03 ball radii, three centimetres. Common
 * practice without a source.
 */
const roundProposals: Partial<Record<VariableName, number>> = {
  cueSpeed: 0.1,
  tipOffset: 0.03,
  objectBallDistance: 0.03,
};
/** Proposal for other variables, in standard deviations (Austin 2011, Pharm. Stat. 10:150, from memory). */
const proposedDeviations = 0.2;
/** No proposal is narrower than this many standard uncertainties of a shot: below, part of the matching is on noise. */
export const narrowestUncertainties = 2;
/** Smallest caliper, so that equal values always match. */
const least = 1e-12;

/** Every row of the sides must state an uncertainty where a caliper rests on it. */
export function resolveCalipers(
  columns: ShotColumns,
  sides: ContrastSides,
  { match, exact }: Pick<ComparisonSpecification, 'match' | 'exact'>,
): ResolvedCaliper[] {
  const rows = [...sides.first, ...sides.second];
  return match.map(({ variable, caliper: asked }) => {
    const values = columns.variables[variable];
    const of = (side: Int32Array): Float64Array => Float64Array.from(side, (row) => values[row] as number);
    const deviation = pooledDeviation(of(sides.first), of(sides.second));
    const own = ownUncertainty(columns, rows, exact, variable);
    const uncertainty = typicalUncertainty(own, rows);
    const described = {
      variable,
      unit: quantities[variable].siUnit,
      standardUncertainty: uncertainty,
      standardDeviation: Number.isFinite(deviation) ? deviation : null,
    };
    if (typeof asked === 'object' && 'combinedUncertainties' in asked) {
      const factor = asked.combinedUncertainties;
      const stated = (side: Int32Array): Float64Array => Float64Array.from(side, (row) => own?.(row) ?? 0);
      const caliper = { factor, first: stated(sides.first), second: stated(sides.second) };
      const widest = widestReach(caliper);
      const sentence = `${quantities[variable].label} within ${rounded(factor, 4)} combined standard uncertainties of the two shots, at most ${shown(variable, widest)}: shots known better are matched closer.`;
      return {
        variable,
        caliper,
        scale: widest,
        applied: { ...described, caliper: widest, combinedUncertainties: factor, sentence },
      };
    }
    const { caliper, sentence } = plainCaliper(variable, asked, deviation, uncertainty);
    return {
      variable,
      caliper,
      scale: caliper,
      applied: { ...described, caliper, combinedUncertainties: null, sentence },
    };
  });
}

/** The same calipers, all times a factor. */
export function scaledCalipers(calipers: readonly ResolvedCaliper[], factor: number): ResolvedCaliper[] {
  return calipers.map((each) => ({
    ...each,
    caliper:
      typeof each.caliper === 'number'
        ? factor * each.caliper
        : { ...each.caliper, factor: factor * each.caliper.factor },
    scale: factor * each.scale,
  }));
}

function plainCaliper(
  variable: VariableName,
  asked: Exclude<ComparisonSpecification['match'][number]['caliper'], { combinedUncertainties: number }>,
  deviation: number,
  uncertainty: number | null,
): { caliper: number; sentence: string } {
  const { label } = quantities[variable];
  const noise =
    uncertainty === null
      ? 'no uncertainty of it is stated'
      : `the standard uncertainty of one shot is ${shown(variable, uncertainty)}, without what shots of an exact group share`;
  if (typeof asked === 'number') {
    return { caliper: asked, sentence: `${label} within ${chosen(variable, asked)} as asked for; ${noise}.` };
  }
  const spread = Number.isFinite(deviation) ? deviation : 0;
  if (asked !== 'proposed') {
    const caliper = Math.max(least, asked.standardDeviations * spread);
    const sentence = `${label} within ${rounded(asked.standardDeviations, 4)} standard deviations (${shown(variable, spread)}) of the shots before matching, ${shown(variable, caliper)}; ${noise}.`;
    return { caliper, sentence };
  }
  const round = roundProposals[variable];
  const wished = round ?? Math.max(least, proposedDeviations * spread);
  const floor = uncertainty === null ? 0 : narrowestUncertainties * uncertainty;
  const basis =
    round === undefined ? `${proposedDeviations} standard deviations of the shots before matching` : 'the usual figure';
  if (floor <= wished) {
    return {
      caliper: wished,
      sentence: `${label} within ${shownRound(variable, wished)}: proposed, ${basis}; ${noise}.`,
    };
  }
  const caliper = roundedUp(floor);
  const sentence = `${label} within ${shownRound(variable, caliper)}: proposed, ${narrowestUncertainties} standard uncertainties; ${basis} of ${shownRound(variable, wished)} would match on noise, as ${noise}.`;
  return { caliper, sentence };
}

function shownRound(variable: VariableName, value: number): string {
  return chosen(variable, Number(value.toPrecision(2)));
}

/** Up to two significant digits. */
function roundedUp(value: number): number {
  const near = Number(value.toPrecision(2));
  if (near >= value) return near;
  const exponent = Number(value.toExponential(1).split('e')[1]);
  return Number((near + Number(`1e${exponent - 1}`)).toPrecision(2));
}
