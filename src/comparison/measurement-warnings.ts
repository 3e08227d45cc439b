/** What measurement errors do to a matched comparison. */
import type { Warning } from '../../shared/analysis.ts';
import { flagMask } from '../../shared/flags.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import { type UncertainName, uncertainNames } from '../pooling/columns.ts';
import { percent, rounded } from '../pooling/figures-in-words.ts';
import { normalCdf } from '../statistics/distributions.ts';
import { studentInterval } from '../statistics/paired-difference.ts';
import { builtInBias } from './built-in-bias.ts';
import type { ComparisonFindings } from './comparison-warnings.ts';
import { contrastBoundary } from './contrast-sides.ts';
import { chosen, plusMinus, shown } from './effect-words.ts';
import { estimatePairs } from './estimate-pairs.ts';
import { matchSides } from './match-sides.ts';

/** A value nearer to the boundary than this many standard uncertainties is not settled; share of shots that warns. */
const settled = 2;
const notResolved = flagMask(['accelerationNotResolved']);
const unresolvedShare = 0.1;
/** A caliper narrower than this many standard uncertainties matches noise. */
const narrow = 2;
/** Fewest pairs for the second analysis. */
const leastPairs = 3;

export function measurementWarnings(findings: ComparisonFindings): Warning[] {
  return [...unresolvedContrast(findings), ...sharedErrors(findings), ...narrowCalipers(findings)];
}

function isUncertain(variable: VariableName): variable is UncertainName {
  return (uncertainNames as readonly string[]).includes(variable);
}

/** Shots whose side is not settled, how many of them are likely on the wrong one, and the answer without them. */
function unresolvedContrast(findings: ComparisonFindings): Warning[] {
  const { columns, specification, sides, matched } = findings;
  const { contrast, response, confidence } = specification;
  const boundary = contrastBoundary(contrast);
  if (boundary === null || contrast.kind === 'grouping' || !isUncertain(contrast.variable)) return [];
  const values = columns.variables[contrast.variable];
  const uncertainties = columns.uncertainties[contrast.variable];
  /** Distance from the boundary in standard uncertainties; NaN when the shot states none. */
  const distance = (row: number): number =>
    Math.abs((values[row] as number) - boundary) / (uncertainties[row] as number);

  const isAcceleration = contrast.variable === 'cueAcceleration';
  const unsettled = (row: number): boolean =>
    distance(row) < settled || (isAcceleration && ((columns.flags[row] as number) & notResolved) !== 0);

  let unresolved = 0;
  let wrong = 0;
  for (const { first, second } of matched.pairs) {
    for (const row of [first, second]) {
      const ratio = distance(row);
      if (unsettled(row)) unresolved += 1;
      if (Number.isNaN(ratio)) continue;
      wrong += normalCdf(-ratio);
    }
  }
  const shots = 2 * matched.pairs.length;
  if (!(unresolved > unresolvedShare * shots)) return [];
  const resolved = (row: number): boolean => !unsettled(row);
  const kept = { ...sides, first: sides.first.filter(resolved), second: sides.second.filter(resolved) };
  const again = matchSides(columns, kept, specification);
  let without = `Without them too few pairs are left for an answer.`;
  if (again.pairs.length >= leastPairs) {
    const { quoted } = estimatePairs(columns, again.pairs, specification);
    const { lower, upper } = studentInterval(quoted, confidence);
    without = `Without such shots: ${again.pairs.length} pairs, difference ${plusMinus(response, quoted.estimate, (upper - lower) / 2)}.`;
  }
  const { label } = quantities[contrast.variable];
  const text = `${unresolved} of ${shots} shots (${percent(unresolved / shots)}, more than ${percent(unresolvedShare)}) lie within ${settled} standard uncertainties of the boundary in ${label}, or their interval reaches it: their side is not settled; about ${rounded(wrong, 2)} are expected on the wrong side, which shrinks the difference. ${without}`;
  return [{ code: isAcceleration ? 'ACCEL_UNRESOLVED' : 'CONTRAST_UNRESOLVED', text }];
}

function sharedErrors({ columns, specification, sides, matched, slopes }: ComparisonFindings): Warning[] {
  const found = builtInBias(columns, sides, matched.pairs, specification, slopes);
  if (found === null) return [];
  const { matched: variable, correlation, hiddenDifference, bias } = found;
  const worth =
    bias === null
      ? 'the shots do not tell what that is worth in the response'
      : `that is worth about ${shown(specification.response, bias)} of the difference found`;
  const text = `Cue speed and cue acceleration come from one fit of each track and err together (correlation ${rounded(correlation, 2)}). Matched on measured ${quantities[variable].label}, the first side's true one differs from the second's by about ${shown(variable, hiddenDifference)}; ${worth}. No correction is applied.`;
  return [{ code: 'ERR_CORR', text }];
}

function narrowCalipers({ columns, specification, matched }: ComparisonFindings): Warning[] {
  return specification.match.flatMap(({ variable, caliper }): Warning[] => {
    if (!isUncertain(variable)) return [];
    const uncertainties = columns.uncertainties[variable];
    let sum = 0;
    let known = 0;
    for (const { first, second } of matched.pairs) {
      for (const row of [first, second]) {
        if (Number.isNaN(uncertainties[row] as number)) continue;
        sum += uncertainties[row] as number;
        known += 1;
      }
    }
    const mean = sum / known;
    if (!(caliper < narrow * mean)) return [];
    const text = `The matching tolerance of ${quantities[variable].label}, ${chosen(variable, caliper)}, is below ${narrow} standard uncertainties (${shown(variable, mean)} each): part of the matching is on noise.`;
    return [{ code: 'CALIPER_NARROW', text }];
  });
}
