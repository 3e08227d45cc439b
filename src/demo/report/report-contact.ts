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

/** Labs whose slowest and fastest ranges differ by less than twice the uncertainty of one contact time. */
function needsMany(name: string, timed: readonly Timed[]): boolean {
  const own = timed.filter(({ lab }) => lab === name);
  const [slow, fast] = [speedRanges[0], speedRanges[speedRanges.length - 1]].map((range) =>
    mean(own.filter(({ cueSpeed }) => isWithin(cueSpeed, range ?? [0, 0])).map(({ time }) => time)),
  );
  return Math.abs((slow ?? 0) - (fast ?? 0)) < 2 * mean(own.map(({ uncertainty }) => uncertainty));
}

function isWithin(speed: number, [low, high]: readonly [number, number]): boolean {
  return speed >= low && speed < high;
}

/** Mean contact time by cue speed, lab by lab, from the derived values of the shots served. */
export function reportContactBySpeed(shots: readonly ListedShot[], labs: readonly string[]): string[] {
  const timed = timedShots(shots);
  const means: number[] = [];
  const rows = speedRanges.map((range) => {
    const here = timed.filter(({ cueSpeed }) => isWithin(cueSpeed, range));
    const byLab = labs.map((name) => {
      const own = here.filter(({ lab }) => lab === name);
      return own.length === 0 ? null : mean(own.map(({ time }) => time));
    });
    // Each lab counts once: labs stand at different levels, and one mean of all shots would hide that.
    const ofLabs = mean(byLab.filter((value) => value !== null));
    means.push(ofLabs);
    return [
      `${range[0]} to ${range[1]}`,
      String(here.length),
      ofLabs.toFixed(2),
      ...byLab.map((value) => value?.toFixed(2) ?? '-'),
    ];
  });
  const shortens = means.every((value, index) => index === 0 || value < (means[index - 1] ?? 0));
  const many = labs.filter((name) => needsMany(name, timed));
  const single = labs.map((name) => {
    const own = timed.filter(({ lab }) => lab === name).map(({ uncertainty }) => uncertainty);
    return `${name} ${own.length === 0 ? '-' : mean(own).toFixed(2)}`;
  });
  return [
    ...heading('Contact time against cue speed'),
    ...wrapped(
      'Mean contact time in ms, by cue speed in m/s, from the shots as served; in the third column each lab counts once:',
    ),
    '',
    ...table(['cue speed', 'shots', 'labs', ...labs], rows),
    '',
    ...wrapped(
      `Contact lasts about ${Math.round(mean(means))} ms (${means[0]?.toFixed(2)} to ${means.at(-1)?.toFixed(2)} ms here) ${
        shortens ? 'and shortens as the stroke gets faster.' : 'without a steady trend from range to range.'
      }`,
    ),
    ...wrapped(
      `Standard uncertainty of one contact time, ms: ${single.join(', ')}. ${
        many.length === 0
          ? 'In every lab two single shots could show the difference.'
          : `In ${many.join(', ')} a single shot cannot show the difference between the slowest and the fastest strokes (it is less than twice that); only many together do.`
      }`,
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
