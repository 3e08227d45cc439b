/** Remarks on what measurement errors do to the slopes: attenuation, errors that go together, coarse contact times. */
import type { Warning } from '../../shared/analysis.ts';
import { quantities, type VariableName } from '../../shared/quantities.ts';
import type { RegressionSpecification } from '../../shared/regression.ts';
import { type ShotColumns, type UncertainName, uncertainNames } from './columns.ts';
import { list, percent, rounded } from './figures-in-words.ts';
import type { RegressionDesign } from './regression-design.ts';
import type { Selection } from './select-shots.ts';

interface Findings {
  readonly columns: ShotColumns;
  readonly specification: RegressionSpecification;
  readonly selection: Selection;
  readonly design: RegressionDesign;
}

export function measurementWarnings(findings: Findings): Warning[] {
  return [...attenuation(findings), ...sharedErrors(findings), ...coarseTimes(findings)];
}

/**
 * Reliability = (spread - error variance) / spread, spread taken within labs when labs are fixed (within labs it is
 * smaller, so attenuation is worse). Judged on each measured variable that enters as a term of its own.
 */
function attenuation({ columns, specification, selection, design }: Findings): Warning[] {
  const within = specification.labs === 'fixed' || specification.labs === 'synthesis';
  const corrected = specification.measurementError === 'corrected';
  const width = design.basis.terms.length + 1;
  return specification.terms.flatMap((term, place): Warning[] => {
    const [factor] = term;
    if (term.length !== 1 || factor === undefined || factor.power !== 1 || !isUncertain(factor.variable)) return [];
    const { indices } = selection;
    const errors = columns.uncertainties[factor.variable];
    let errorVariance = 0;
    let known = 0;
    for (let at = 0; at < indices.length; at += 1) {
      const error = errors[indices[at] as number] as number;
      if (Number.isNaN(error)) continue;
      errorVariance += error * error;
      known += 1;
    }
    if (known === 0) return [];
    errorVariance /= known;
    // A linear term is always a Chebyshev column, x = c + h u.
    const halfWidth = design.basis.halfWidths[design.predictors.indexOf(factor.variable)] as number;
    let spread = 0;
    let degrees = 0;
    for (const { count, products } of design.labs) {
      if (count === 0) continue;
      spread += (products[place * width + place] as number) * halfWidth * halfWidth;
      degrees += count - 1;
    }
    if (!within) {
      const { sum, count } = pooledSpread(columns.variables[factor.variable], indices);
      spread = sum;
      degrees = count - 1;
    }
    const reliability = 1 - (errorVariance * degrees) / spread;
    if (reliability >= 0.95) return [];
    const { label, siUnit } = quantities[factor.variable];
    const where = within ? ' within labs' : '';
    const error = `standard uncertainty ${rounded(Math.sqrt(errorVariance), 2)} ${siUnit} against a spread of ${rounded(Math.sqrt(spread / degrees), 2)} ${siUnit}${where}`;
    const text =
      reliability <= 0
        ? `The spread of ${label} is no larger than its measurement error (${error}): its slope says nothing about the true one.`
        : reliability < 0.3
          ? `Most of the spread of ${label} is measurement error (${error}; reliability ${rounded(reliability, 2)}, below 0.3): its slope is shrunk towards zero by about ${percent(1 - reliability)} and is not to be relied on.`
          : `Measurement error of ${label} (${error}; reliability ${rounded(reliability, 3)}, below 0.95) shrinks its slope towards zero by about ${percent(1 - reliability)}; ${corrected ? 'the corrected slope stands beside it' : 'no correction is applied'}.`;
    return [{ code: 'ATTENUATION', text }];
  });
}

function pooledSpread(values: Float64Array, indices: Int32Array): { sum: number; count: number } {
  const first = values[indices[0] as number] as number;
  let total = 0;
  for (let at = 0; at < indices.length; at += 1) total += (values[indices[at] as number] as number) - first;
  const mean = total / indices.length;
  let sum = 0;
  for (let at = 0; at < indices.length; at += 1) {
    const deviation = (values[indices[at] as number] as number) - first - mean;
    sum += deviation * deviation;
  }
  return { sum, count: indices.length };
}

/** Speed and acceleration of one fit err together. */
function sharedErrors({ columns, specification, selection }: Findings): Warning[] {
  const used = new Set([specification.response, ...specification.terms.flat().map(({ variable }) => variable)]);
  if (!used.has('cueSpeed') || !used.has('cueAcceleration')) return [];
  let sum = 0;
  let known = 0;
  for (const row of selection.indices) {
    const correlation =
      (columns.covarianceSpeedAcceleration[row] as number) /
      ((columns.uncertainties.cueSpeed[row] as number) * (columns.uncertainties.cueAcceleration[row] as number));
    if (!Number.isFinite(correlation)) continue;
    sum += correlation;
    known += 1;
  }
  if (known === 0) return [];
  return [
    {
      code: 'ERR_CORR',
      text: `Cue speed and cue acceleration come from one fit of each track; their measurement errors correlate at about ${rounded(sum / known, 2)}, which tilts both slopes. ${specification.measurementError === 'corrected' ? 'The corrected slopes take account of it.' : 'No correction is applied.'}`,
    },
  ];
}

const distinctNeeded = 10;
/** More distinct values than this are not steps of a frame counter. */
const distinctKept = 40;

/** Smallest gap between distinct values, those of rounding (below a nanosecond) left out. */
function smallestStep(values: ReadonlySet<number>): number {
  const sorted = [...values].sort((first, second) => first - second);
  let smallest = Number.POSITIVE_INFINITY;
  for (let place = 1; place < sorted.length; place += 1) {
    const gap = (sorted[place] as number) - (sorted[place - 1] as number);
    if (gap > 1e-9) smallest = Math.min(smallest, gap);
  }
  return Number.isFinite(smallest) ? smallest : 0;
}

/** Contact times counted in frames take few values. */
function coarseTimes({ columns, specification, selection }: Findings): Warning[] {
  const used = new Set([specification.response, ...specification.terms.flat().map(({ variable }) => variable)]);
  const { codes, names } = columns.groups.lab;
  return (['contactTime', 'countedContactTime'] as const).flatMap((variable): Warning[] => {
    if (!used.has(variable)) return [];
    const seen = names.map(() => new Set<number>());
    const shots = new Int32Array(names.length);
    const sums = new Float64Array(names.length);
    const squares = new Float64Array(names.length);
    for (const row of selection.indices) {
      const lab = codes[row] as number;
      shots[lab] = (shots[lab] as number) + 1;
      const values = seen[lab] as Set<number>;
      const time = columns.variables[variable][row] as number;
      if (values.size < distinctKept) values.add(time);
      sums[lab] = (sums[lab] as number) + time;
      squares[lab] = (squares[lab] as number) + time * time;
    }
    const coarse = names.flatMap((lab, code) => {
      const values = seen[code] as Set<number>;
      const count = shots[code] as number;
      if (count < distinctNeeded) return [];
      if (values.size < distinctNeeded) return [`${lab} (${values.size} values)`];
      const mean = (sums[code] as number) / count;
      const deviation = Math.sqrt(Math.max(0, (squares[code] as number) / count - mean * mean));
      const tick = values.size < distinctKept ? smallestStep(values) : 0;
      return tick > deviation / 2 ? [`${lab} (steps of ${rounded(tick * 1000, 2)} ms)`] : [];
    });
    if (coarse.length === 0) return [];
    return [
      {
        code: 'QUANTISED',
        text: `${quantities[variable].label} is counted in frames and takes fewer than ${distinctNeeded} distinct values, or steps of more than half its standard deviation, in ${list(coarse)}: part of its spread is the frame interval.`,
      },
    ];
  });
}

function isUncertain(variable: VariableName): variable is UncertainName & VariableName {
  return (uncertainNames as readonly string[]).includes(variable);
}
