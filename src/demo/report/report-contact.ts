/** Contact time against cue speed, cue acceleration and draw, from what the service serves. */
import type { Warning } from '../../../shared/analysis.ts';
import type { RegressionResult } from '../../../shared/regression.ts';
import type { ListedShot } from '../api.ts';
import { about, grouped, mean, signed } from './numbers.ts';
import { heading, table, wrapped } from './plain-text.ts';

const speedRanges = [
  [1, 2],
  [2, 2.8],
  [2.8, 3.6],
  [3.6, 6],
] as const;

interface Timed {
  readonly lab: string;
  readonly cueSpeed: number;
  /** ms. */
  readonly time: number;
  readonly uncertainty: number;
}

function timedShots(shots: readonly ListedShot[]): Timed[] {
  return shots.flatMap(({ lab, derived }) => {
    const { source, cueSpeed, contactTime } = derived;
    if (source !== 'track' || cueSpeed === null || contactTime === null) return [];
    const { value, standardUncertainty } = contactTime;
    return [{ lab, cueSpeed: cueSpeed.value, time: value * 1000, uncertainty: standardUncertainty * 1000 }];
  });
}

/** Mean weighted by 1/u^2, so that a slow camera counts for what it can see, and its standard error. */
function weightedMean(timed: readonly Timed[]): { mean: number; error: number } {
  let weights = 0;
  let sum = 0;
  for (const { time, uncertainty } of timed) {
    const weight = 1 / (uncertainty * uncertainty);
    weights += weight;
    sum += weight * time;
  }
  return { mean: sum / weights, error: Math.sqrt(1 / weights) };
}

/** Mean contact time by cue speed, lab by lab, from the derived values of the shots served. */
export function reportContactBySpeed(shots: readonly ListedShot[], labs: readonly string[]): string[] {
  const timed = timedShots(shots);
  const means: number[] = [];
  const rows = speedRanges.map(([low, high]) => {
    const here = timed.filter(({ cueSpeed }) => cueSpeed >= low && cueSpeed < high);
    const all = weightedMean(here);
    means.push(all.mean);
    const ofLab = (name: string) => here.filter(({ lab }) => lab === name);
    return [
      `${low} to ${high}`,
      String(here.length),
      all.mean.toFixed(3),
      all.error.toFixed(3),
      ...labs.map((name) => (ofLab(name).length === 0 ? '-' : weightedMean(ofLab(name)).mean.toFixed(2))),
    ];
  });
  const shortens = means.every((value, index) => index === 0 || value < (means[index - 1] ?? 0));
  const single = labs.map((name) => {
    const own = timed.filter(({ lab }) => lab === name).map(({ uncertainty }) => uncertainty);
    return `${name} ${own.length === 0 ? '-' : mean(own).toFixed(2)}`;
  });
  return [
    ...heading('Contact time against cue speed'),
    ...wrapped(
      'Mean contact time in ms, by cue speed in m/s, from the shots as served, each weighted by its uncertainty:',
    ),
    '',
    ...table(['cue speed', 'shots', 'all labs', 'std. error', ...labs], rows),
    '',
    ...wrapped(
      `Contact lasts about ${Math.round(mean(means))} ms (${means[0]?.toFixed(2)} to ${means.at(-1)?.toFixed(2)} ms here) ${
        shortens ? 'and shortens as the stroke gets faster.' : 'without a steady trend from range to range.'
      }`,
    ),
    ...wrapped(
      `Standard uncertainty of one contact time, ms: ${single.join(', ')}. No single shot resolves these differences; only many together do.`,
    ),
  ];
}

const microseconds = 1e6;

function coefficientOf(result: RegressionResult, term: string): RegressionResult['coefficients'][number] {
  const found = result.coefficients.find((coefficient) => coefficient.term === term);
  if (found === undefined) throw new Error(`the answer has no term ${term}`);
  return found;
}

/** Slope with 95 % interval in microseconds per `unit`, after multiplying by `per`. */
function slopeText(coefficient: RegressionResult['coefficients'][number], unit: string, per = 1): string {
  const scale = microseconds * per;
  const ends = [coefficient.interval.lower * scale, coefficient.interval.upper * scale].sort((a, b) => a - b);
  return `${signed(coefficient.estimate * scale, 2)} us per ${unit} (95 % interval ${signed(ends[0] ?? 0, 2)} to ${signed(
    ends[1] ?? 0,
    2,
  )})`;
}

/** Warnings of an answer, as the service words them. */
export function warningLines(warnings: readonly Warning[]): string[] {
  return warnings.flatMap(({ text }) => wrapped(text, '  ! ', '    '));
}

/** The pooled slope on cue speed. */
export function reportSpeedSlope(result: RegressionResult): string[] {
  const slope = coefficientOf(result, 'cueSpeed');
  return [
    ...wrapped(
      `Pooled over ${result.labs.length} labs and ${result.provenance.shots} shots, each lab with its own level: ${slopeText(slope, 'm/s')}.`,
    ),
    ...wrapped(slope.sentence, '  > ', '    '),
    ...warningLines(result.warnings),
  ];
}

/**
 * The pooled slope on cue acceleration, and how many shots would resolve what the stroke model says.
 *
 * @param modelSlope s per m/s2
 */
export function reportAccelerationSlope(result: RegressionResult, modelSlope: number): string[] {
  const slope = coefficientOf(result, 'cueAcceleration');
  const resolved = slope.interval.lower > 0 || slope.interval.upper < 0;
  const ratio = slope.smallestDetectable / modelSlope;
  const needed = result.provenance.shots * ratio * ratio;
  return [
    ...heading('Contact time against cue acceleration at impact'),
    ...wrapped(`At equal cue speed: ${slopeText(slope, 'm/s2')}.`),
    ...wrapped(slope.sentence, '  > ', '    '),
    ...wrapped(
      resolved
        ? 'The interval excludes zero; with the tiny effect that the stroke model has, look for a bias before believing it.'
        : 'Not resolved: the interval includes zero. That is not evidence that there is no effect.',
    ),
    ...wrapped(
      `These ${grouped(result.provenance.shots)} shots show a slope of ${(slope.smallestDetectable * microseconds).toFixed(2)} us per m/s2 with 80 % power. The stroke model behind this invented data has ${(
        modelSlope * microseconds
      ).toFixed(
        3,
      )} us per m/s2, because a hand cannot do much in a millisecond: about ${about(needed)} shots of this kind from these labs would be needed to resolve it.`,
    ),
    ...warningLines(result.warnings),
  ];
}

/** That a lower hit does not come with a longer contact. */
export function reportDraw(result: RegressionResult): string[] {
  const slope = coefficientOf(result, 'tipOffset');
  // More draw is a lower tip offset, hence the change of sign.
  const { lower, upper } = slope.interval;
  const perTenth = slopeText(slope, '0.1 R', -0.1);
  const verdict =
    lower > 0
      ? 'More draw does not come with longer contact: at equal cue speed a lower hit touches for a shorter time.'
      : upper < 0
        ? 'In these shots more draw comes with longer contact, against what the model has.'
        : 'More draw is not seen to come with longer contact: the change is not resolved either way.';
  return [
    ...heading('Contact time and draw'),
    ...wrapped(`Hits below the centre, ${result.provenance.shots} shots. For every 0.1 R lower: ${perTenth}.`),
    ...wrapped(verdict),
    ...wrapped(slope.sentence, '  > ', '    '),
    ...warningLines(result.warnings),
  ];
}
