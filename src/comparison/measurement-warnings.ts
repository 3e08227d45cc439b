/** What measurement errors do to a matched comparison. */
import type { Warning } from '../../shared/analysis.ts';
import { quantities } from '../../shared/quantities.ts';
import { percent } from '../pooling/figures-in-words.ts';
import { varianceOf } from '../statistics/standardised-difference.ts';
import type { ComparisonFindings } from './comparison-warnings.ts';
import { shown } from './effect-words.ts';

const unresolvedShare = 0.1;
/** Fewer distinct contact times than this, or steps above half a standard deviation, are coarse. */
const distinctNeeded = 10;
const coarseStep = 0.5;
/** A shared error above this part of the standard error is no longer hidden by it. */
const commonShare = 0.5;

export function measurementWarnings(findings: ComparisonFindings): Warning[] {
  return [
    ...unresolvedContrast(findings),
    ...sharedErrors(findings),
    ...commonErrors(findings),
    ...quantised(findings),
  ];
}

function unresolvedContrast({ answer }: ComparisonFindings): Warning[] {
  const { unresolved } = answer;
  if (unresolved === null || !(unresolved.share > unresolvedShare)) return [];
  const code = unresolved.variable === 'cueAcceleration' ? 'ACCEL_UNRESOLVED' : 'CONTRAST_UNRESOLVED';
  return [{ code, text: `More than ${percent(unresolvedShare)} of the shots: ${unresolved.sentence}` }];
}

function sharedErrors({ answer }: ComparisonFindings): Warning[] {
  return answer.builtInBias === null ? [] : [{ code: 'ERR_CORR', text: answer.builtInBias.sentence }];
}

function commonErrors({ answer }: ComparisonFindings): Warning[] {
  const { measurement, quoted, specification } = answer;
  if (measurement === null || !(measurement.common > commonShare * quoted.standardError)) return [];
  const { response } = specification;
  const text = `Errors that all shots of a rig, cue or table share do not cancel within these pairs: ${shown(response, measurement.common)}, more than half the standard error of ${shown(response, quoted.standardError)}. The interval does not contain them. Pair shots of one rig, cue and table.`;
  return [{ code: 'COMMON_ERROR', text }];
}

/** Contact times counted in frames come in steps. */
function quantised({ columns, matched, answer }: ComparisonFindings): Warning[] {
  const { response, match } = answer.specification;
  const counted = [response, ...match.map(({ variable }) => variable)].filter(
    (variable) => variable === 'contactTime' || variable === 'countedContactTime',
  );
  return counted.flatMap((variable): Warning[] => {
    const values = columns.variables[variable];
    const all = Float64Array.from(
      matched.pairs.flatMap(({ first, second }) => [values[first] as number, values[second] as number]),
    ).sort();
    let distinct = 1;
    let step = Number.POSITIVE_INFINITY;
    for (let place = 1; place < all.length; place += 1) {
      const gap = (all[place] as number) - (all[place - 1] as number);
      // Below a millionth of the value a gap is rounding.
      if (!(gap > 1e-6 * Math.abs(all[place] as number))) continue;
      distinct += 1;
      step = Math.min(step, gap);
    }
    const deviation = Math.sqrt(varianceOf(all));
    if (distinct >= distinctNeeded && !(step > coarseStep * deviation)) return [];
    const text = `${quantities[variable].label} has ${distinct} distinct values${Number.isFinite(step) ? ` (steps of ${shown(variable, step)})` : ''} among ${all.length} shots (fewer than ${distinctNeeded}, or steps above half a standard deviation): treat it as ordinal; the frame interval is part of its spread.`;
    return [{ code: 'QUANTISED', text }];
  });
}
